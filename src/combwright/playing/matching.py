"""Match: instruments ranked by how much of a repertoire they play, and how.

Where a tune may sound in any key, it is put to its best place on each layout, and the key of an
instrument does not matter. Where tunes sound in their own keys they may be moved by octaves only;
then each layout in each key is an instrument of its own.
"""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.comb.layouts import Layout
from combwright.comb.reach import How, Sound, sounds
from combwright.playing.costs import PlayingCosts
from combwright.playing.fitting import cores
from combwright.playing.lines import line_of
from combwright.playing.programme import Ways
from combwright.playing.repertoire import LANES, Repertoire, lowest_reed, repertoire_of
from combwright.playing.tallies import Longs, Tally, tally
from combwright.tunes.tune import Tune

_WORST: Final = 3
_HARDEST: Final = 3
#: Semitones above the lowest reed, shape (tunes, places).
Places = NDArray[np.intp]
_HOWS: Final[tuple[How, ...]] = ("natural", "bend", "overbend")


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
class Hard:
    """A note that is bent, overbent or missing, and how often it is played so.

    Parameters
    ----------
    midi : int
        The note as the instrument sounds it.
    way : Sound or None
        How it is got; None where it is not.
    times : int
        In the whole repertoire.
    """

    midi: int
    way: Sound | None
    times: int


@dataclass(frozen=True, slots=True)
class Candidate:
    """An instrument to be ranked.

    Parameters
    ----------
    name : str
        As it is shown.
    layout : Layout
        As it sounds.
    key : str
        Its key; empty where keys do not matter.
    own : bool
        Whether the customer has it.
    """

    name: str
    layout: Layout
    key: str = ""
    own: bool = False


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
    key : str
        The key of the instrument; empty where it does not matter.
    own : bool
        Whether it is the customer's own.
    hardest : tuple of Hard
        The notes that cost most by themselves, dearest first: why it stands where it stands.
    easier, saves : int or None
        How many tunes are easier on it than on any of the customer's own, and by how much in all,
        in hundredths; None where the customer has none, and for the own ones.
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
    key: str = ""
    own: bool = False
    hardest: tuple[Hard, ...] = ()
    easier: int | None = None
    saves: int | None = None

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
    """Rank layouts for a repertoire, each tune at its best place, as `rank` does."""
    return rank(tunes, [Candidate(*each) for each in layouts], costs, low=low)


def rank(
    tunes: Sequence[Tune],
    candidates: Sequence[Candidate],
    costs: PlayingCosts,
    *,
    as_written: bool = False,
    low: int | None = None,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[LayoutFit, ...]:
    """Rank instruments for a repertoire, the cheapest first; of equal cost the earlier.

    Parameters
    ----------
    tunes : sequence of Tune
        At least one, each of at least one note.
    candidates : sequence of Candidate
        The instruments.
    costs : PlayingCosts
        Of whom it is ranked for.
    as_written : bool
        Whether tunes sound in the keys in which they are written: each is moved by octaves only,
        to where its lowest note is none below the lowest reed and less than two octaves above it.
        Otherwise it may be put to any of these 24 places.
    low : int or None
        A note to count places from instead of the lowest reed, the same for all.
    threads : int or None
        None for one a core; the answer is the same.
    progress : callable, optional
        Told how many are ranked, and how many there are; what it raises ends the ranking.
    """
    repertoire = repertoire_of([line_of(tune, costs) for tune in tunes])
    shapes = _shapes(tunes, repertoire.span)

    anywhere = np.tile(np.arange(LANES), (len(tunes), 1))

    def fit(candidate: Candidate) -> tuple[LayoutFit, Longs]:
        start = lowest_reed(candidate.layout) if low is None else low
        places = _octaves(repertoire, start) if as_written else anywhere
        return _fit(tunes, repertoire, shapes, candidate, costs, start, places)

    found: list[tuple[LayoutFit, Longs]] = []
    with ThreadPoolExecutor(threads or cores()) as pool:
        try:
            for each in pool.map(fit, candidates):
                found.append(each)
                if progress is not None:
                    progress(len(found), len(candidates))
        except BaseException:
            # Whoever is told may raise to end it: what is not begun then is not waited for.
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    return tuple(sorted(_beside_own(found), key=lambda each: each.cost))


def _beside_own(found: Sequence[tuple[LayoutFit, Longs]]) -> Iterator[LayoutFit]:
    """Say of each instrument what it would add to the customer's own, each tune on the easiest."""
    own = [paid for fit, paid in found if fit.own]
    before = np.min(own, axis=0) if own else None
    for fit, paid in found:
        if before is None or fit.own:
            yield fit
        else:
            saved = np.maximum(before - paid, 0)
            yield replace(fit, easier=int((saved > 0).sum()), saves=int(saved.sum()))


def _octaves(repertoire: Repertoire, low: int) -> Places:
    """Return the places of every tune that are whole octaves from where it is written."""
    first = (np.array(repertoire.lowest) - low) % 12
    return np.asarray(first[:, None] + np.array([0, 12]))


def _shapes(tunes: Sequence[Tune], span: int) -> NDArray[np.float32]:
    """Return which notes each tune has, counted from its lowest, shape (tunes, span + 1)."""
    shapes = np.zeros((len(tunes), span + 1), np.float32)
    for shape, tune in zip(shapes, tunes, strict=True):
        lowest = min(tune.pitches)
        shape[[midi - lowest for midi in set(tune.pitches)]] = 1
    return shapes


def _fit(
    tunes: Sequence[Tune],
    repertoire: Repertoire,
    shapes: NDArray[np.float32],
    candidate: Candidate,
    costs: PlayingCosts,
    low: int,
    places: Places,
) -> tuple[LayoutFit, Longs]:
    ways = sounds(candidate.layout)
    told = tally(repertoire, places, ways, costs, low)
    paid = told.costs
    reached = _reached(shapes, ways, low, places)
    _, bends, overbends, missing = (int(n) for n in told.hows.sum(axis=0))
    sizes = np.diff(repertoire.note_ends)
    dearest = np.argsort(-paid / sizes, kind="stable")[:_WORST]
    worst = [
        TuneFit(tunes[n], low - repertoire.lowest[n] + int(told.places[n]), int(paid[n]),
                *(int(count) for count in told.hows[n, 1:]))
        for n in dearest if paid[n]
    ]  # fmt: skip
    fit = LayoutFit(
        name=candidate.name,
        cost=int(paid.sum()),
        natural=reached[0],
        with_bends=reached[1],
        with_overbends=reached[2],
        notes=int(sizes.sum()),
        bends=bends,
        overbends=overbends,
        missing=missing,
        worst=tuple(worst),
        key=candidate.key,
        own=candidate.own,
        hardest=_hardest(told, costs),
    )
    return fit, paid


def _hardest(told: Tally, costs: PlayingCosts) -> tuple[Hard, ...]:
    hard = [
        Hard(midi, way, times)
        for (midi, way), times in told.ways.items()
        if way is None or way.how != "natural"
    ]

    def cost(each: Hard) -> int:
        alone = costs.missing if each.way is None else costs.of_sound(each.way, short=False)
        return each.times * alone

    return tuple(sorted(hard, key=lambda each: (-cost(each), each.midi))[:_HARDEST])


def _reached(shapes: NDArray[np.float32], ways: Ways, low: int, places: Places) -> tuple[int, ...]:
    """Return how many tunes have a place where natural notes do, or bends too, or overbends too."""
    notes = low + np.arange(shapes.shape[1])[:, None] + np.arange(LANES)
    counts = []
    for most in range(len(_HOWS)):
        usable = [midi for midi, found in ways.items() if found[0].how in _HOWS[: most + 1]]
        whole = shapes @ ~np.isin(notes, usable) == 0
        counts.append(int(np.take_along_axis(whole, places, axis=1).any(axis=1).sum()))
    return tuple(counts)
