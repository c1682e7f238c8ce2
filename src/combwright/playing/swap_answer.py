"""The answer to which reeds to swap: the sets found, what each does, and the plates for it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from combwright.comb.layouts import Layout
from combwright.playing.costs import PlayingCosts
from combwright.playing.effects import Effect, effect
from combwright.playing.lines import Step
from combwright.playing.repertoire import Repertoire, lowest_reed
from combwright.playing.standing import Standing, Standings
from combwright.playing.supply import Plates, Supply, Use
from combwright.playing.swap_sets import Swap, SwapSpace, swapped
from combwright.playing.swapping import Found, Round
from combwright.tunes.tune import Tune


@dataclass(frozen=True, slots=True)
class Told:
    """A set of swaps with all there is to say of it.

    Parameters
    ----------
    found : Found
        The swaps and what the repertoire costs with them.
    standing : Standing
        How the repertoire is played with them.
    effect : Effect
        What they change.
    plates : tuple of (Plates, Use), or None
        The plate for each swap; None where plates were not asked for.
    """

    found: Found
    standing: Standing
    effect: Effect
    plates: tuple[tuple[Plates, Use], ...] | None


@dataclass(frozen=True, slots=True)
class SwapAnswer:
    """Everything that a search for swaps answers.

    Parameters
    ----------
    layout : Layout
        The base.
    tunes : tuple of Tune
        The repertoire.
    base : Told
        The base as it is: the set of no swaps.
    rounds : tuple of Round
        One for each size from 1 on.
    told : mapping of swaps to Told
        For every set that a round names.
    """

    layout: Layout
    tunes: tuple[Tune, ...]
    base: Told
    rounds: tuple[Round, ...]
    told: Mapping[tuple[Swap, ...], Told]

    @property
    def proven(self) -> bool:
        """Whether in every round no set that was not worked out can be better than those named."""
        return all(is_proven(each) for each in self.rounds)

    def of(self, found: Round) -> tuple[Told, ...]:
        """Return what is told of a round's sets, best first."""
        return tuple(self.told[each.swaps] for each in found.best)

    def best(self, most: int = 5) -> tuple[Told, ...]:
        """Return the best sets of any size; of equal cost those with fewer swaps."""
        every = [each for found in self.rounds for each in self.of(found)]
        ranked = sorted(every, key=lambda t: (t.found.cost, len(t.found.swaps)))
        return tuple(ranked[:most])


def is_proven(found: Round) -> bool:
    """Tell whether every set was bounded and what is left cannot be better than the best ones."""
    left = found.lowest_left
    dearest = max((each.cost for each in found.best), default=0)
    return found.bounded == found.candidates and (left is None or left >= dearest)


def tell(
    rounds: Sequence[Round],
    space: SwapSpace,
    tunes: Sequence[Tune],
    lines: Sequence[Sequence[Step]],
    repertoire: Repertoire,
    costs: PlayingCosts,
    *,
    key: int,
) -> SwapAnswer:
    """Return the answer to a search, from its rounds, the first of which is the base.

    Parameters
    ----------
    rounds : sequence of Round
        As `search` returns them.
    tunes, lines, repertoire
        The same tunes in three forms.
    key : int
        The base's pitch class, from which positions are counted.
    """
    standings = Standings(lines, repertoire, costs, lowest_reed(space.layout))
    before = standings.of(space.layout)

    def of(found: Found) -> Told:
        other = swapped(space.layout, found.swaps)
        after = standings.of(other) if found.swaps else before
        changed = effect(space.layout, other, tunes, before, after, key=key)
        return Told(found, after, changed, _plates(space, found.swaps))

    told = {each.swaps: of(each) for found in rounds for each in found.best}
    return SwapAnswer(space.layout, tuple(tunes), told[()], tuple(rounds[1:]), told)


def _plates(space: SwapSpace, swaps: Sequence[Swap]) -> tuple[tuple[Plates, Use], ...] | None:
    if not isinstance(space.stock, Supply):
        return None
    uses = space.stock.best(swaps)
    if uses is None:
        raise AssertionError("a set was searched that there are no plates for")
    return tuple((space.stock.plates[use.plates], use) for use in uses)
