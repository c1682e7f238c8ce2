"""Match: layouts ranked by how much of a repertoire they play, and how."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combwright.comb.layouts import Layout
from combwright.comb.reach import How, sounds
from combwright.playing.costs import PlayingCosts
from combwright.playing.fitting import fit_layout
from combwright.playing.lines import Step, line_of
from combwright.playing.programme import Programme, Ways
from combwright.playing.repertoire import LANES, Repertoire, lowest_reed, repertoire_of
from combwright.tunes.tune import Tune

_WORST: Final = 3
_RANK: Final[dict[How, int]] = {"natural": 0, "bend": 1, "overbend": 2, "missing": 3}


@dataclass(frozen=True, slots=True)
class TuneFit:
    """One tune on one layout at its best place.

    Parameters
    ----------
    tune : Tune
        The tune.
    shift : int
        Semitones to there from where it is written.
    cost : int
        In hundredths.
    bends, overbends, missing : int
        How many notes are got so, or not at all.
    """

    tune: Tune
    shift: int
    cost: int
    bends: int
    overbends: int
    missing: int


@dataclass(frozen=True, slots=True)
class LayoutFit:
    """How a layout plays a repertoire.

    Parameters
    ----------
    name : str
        As the layout was named.
    cost : int
        Of all tunes, each at its best place, in hundredths.
    natural, with_bends, with_overbends : int
        How many tunes have a place where natural notes are enough, or these and bends, or these
        and overbends.
    notes, bends, overbends, missing : int
        How many notes there are, and how they are got at each tune's best place.
    worst : tuple of TuneFit
        The dearest tunes for their length, dearest first.
    """

    name: str
    cost: int
    natural: int
    with_bends: int
    with_overbends: int
    notes: int
    bends: int
    overbends: int
    missing: int
    worst: tuple[TuneFit, ...]

    @property
    def bends_per_100(self) -> float:
        """Bends in a hundred notes."""
        return 100 * self.bends / self.notes if self.notes else 0.0


def match(
    tunes: Sequence[Tune],
    layouts: Sequence[tuple[str, Layout]],
    costs: PlayingCosts,
    *,
    low: int | None = None,
) -> tuple[LayoutFit, ...]:
    """Rank layouts for a repertoire, the cheapest first; of equal cost the earlier.

    A tune may be put to any of 24 places: its lowest note on the layout's lowest reed, or up to 23
    semitones above it. So the key of an instrument does not matter here. `low` is a note to count
    from instead, the same for all layouts.
    """
    lines = [line_of(tune, costs) for tune in tunes]
    repertoire = repertoire_of(lines)
    found = [
        _fit(
            tunes, lines, repertoire, name, layout, costs,
            lowest_reed(layout) if low is None else low,
        )
        for name, layout in layouts
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda each: each.cost))


def _fit(
    tunes: Sequence[Tune],
    lines: Sequence[Sequence[Step]],
    repertoire: Repertoire,
    name: str,
    layout: Layout,
    costs: PlayingCosts,
    low: int,
) -> LayoutFit:
    ways = sounds(layout)
    programme = Programme(ways, costs)
    paid, places = fit_layout(repertoire, layout, costs, low)
    shifts = [low - lowest + int(at) for lowest, at in zip(repertoire.lowest, places, strict=True)]
    fits = [
        _tune_fit(tune, line, programme, by, int(cost))
        for tune, line, by, cost in zip(tunes, lines, shifts, paid, strict=True)
    ]
    reached = _reached(lines, repertoire.lowest, ways, low)
    dearest = sorted(fits, key=lambda each: -each.cost / len(each.tune.notes))
    return LayoutFit(
        name=name,
        cost=sum(each.cost for each in fits),
        natural=sum(rank < 1 for rank in reached),
        with_bends=sum(rank < 2 for rank in reached),
        with_overbends=sum(rank < 3 for rank in reached),
        notes=sum(len(tune.notes) for tune in tunes),
        bends=sum(each.bends for each in fits),
        overbends=sum(each.overbends for each in fits),
        missing=sum(each.missing for each in fits),
        worst=tuple(each for each in dearest[:_WORST] if each.cost),
    )


def _tune_fit(
    tune: Tune, line: Sequence[Step], programme: Programme, shift: int, cost: int
) -> TuneFit:
    played = programme.play(line, shift=shift).ways
    hows = ["missing" if way is None else way.how for way in played]
    return TuneFit(
        tune, shift, cost, hows.count("bend"), hows.count("overbend"), hows.count("missing")
    )


def _reached(
    lines: Sequence[Sequence[Step]], lowest: Sequence[int], ways: Ways, low: int
) -> list[int]:
    """Return for each line the least rank of its hardest note over all places, 0 to 3 (missing).

    Notes are bits, counted from `low` and from the line's lowest note: a line can be had at a place
    where none of its bits is lacking.
    """
    lacking = [
        ~sum(1 << (m - low) for m, found in ways.items()
             if m >= low and _RANK[found[0].how] <= rank)
        for rank in range(_RANK["missing"])
    ]  # fmt: skip
    found = []
    for line, first in zip(lines, lowest, strict=True):
        bits = sum(1 << midi for midi in {step.midi - first for step in line})
        ranks = (rank for rank, gone in enumerate(lacking)
                 if any(not bits << lane & gone for lane in range(LANES)))  # fmt: skip
        found.append(next(ranks, _RANK["missing"]))
    return found
