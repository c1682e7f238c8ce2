"""What a set of swaps does beside its cost: notes, chords, scales that change, and single tunes."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.comb.chords import Chord, chords, octave_splits
from combwright.comb.difference import NoteChange, difference
from combwright.comb.layouts import Layout
from combwright.comb.reach import HOWS, How, Position, positions
from combwright.comb.seats import Breath
from combwright.playing.standing import Standing
from combwright.tunes.tune import Tune

_NAMED: Final = 3


@dataclass(frozen=True, slots=True)
class ChordChange:
    """What some holes sound together, before and after; None where one of them is silent."""

    breath: Breath
    holes: tuple[int, ...]
    was: str | None
    now: str | None


@dataclass(frozen=True, slots=True)
class ScaleChange:
    """How many notes of the major scale in a position are got in each way, before and after.

    Parameters
    ----------
    position, tonic : int
        1 to 12, and the pitch class it starts on.
    was, now : mapping of {"natural", "bend", "overbend", "missing"} to int
        The octave's eight notes.
    """

    position: int
    tonic: int
    was: Mapping[How, int]
    now: Mapping[How, int]


@dataclass(frozen=True, slots=True)
class TuneChange:
    """A tune, and by how much dearer it gets, in hundredths; below 0 it gets cheaper."""

    tune: Tune
    by: int


@dataclass(frozen=True, slots=True)
class Effect:
    """What a set of swaps changes.

    Parameters
    ----------
    lost, gained : tuple of NoteChange
        Notes that are harder to get than before, or gone; and the other way round.
    chords, splits : tuple of ChordChange
        Neighbouring holes whose sound has another name, and pairs that are or were octaves.
    scales : tuple of ScaleChange
        Positions whose major scale changes.
    easier, harder, same : int
        How many tunes get cheaper, dearer, or stay.
    worst, best : tuple of TuneChange
        The three that lose most and that gain most.
    """

    lost: tuple[NoteChange, ...]
    gained: tuple[NoteChange, ...]
    chords: tuple[ChordChange, ...]
    splits: tuple[ChordChange, ...]
    scales: tuple[ScaleChange, ...]
    easier: int
    harder: int
    same: int
    worst: tuple[TuneChange, ...]
    best: tuple[TuneChange, ...]


def effect(
    base: Layout,
    other: Layout,
    tunes: Sequence[Tune],
    before: Standing,
    after: Standing,
    *,
    key: int,
) -> Effect:
    """Return what changes from a base to a layout with some reeds swapped.

    Parameters
    ----------
    tunes : sequence of Tune
        In the order of the standings' costs.
    before, after : Standing
        How the two play the tunes.
    key : int
        The key's pitch class, from which positions are counted.
    """
    changed = difference(base, other)
    by = after.costs - before.costs
    return Effect(
        lost=changed.lost,
        gained=changed.gained,
        chords=_chords(chords(base), chords(other)),
        splits=_chords(octave_splits(base), octave_splits(other)),
        scales=_scales(positions(base, key), positions(other, key)),
        easier=int((by < 0).sum()),
        harder=int((by > 0).sum()),
        same=int((by == 0).sum()),
        worst=_most(tunes, by),
        best=tuple(TuneChange(each.tune, -each.by) for each in _most(tunes, -by)),
    )


def _most(tunes: Sequence[Tune], by: NDArray[np.int64]) -> tuple[TuneChange, ...]:
    """Return the tunes of which the number is largest, and above 0; of equal ones the first."""
    ranked = np.argsort(-by, kind="stable")[:_NAMED]
    return tuple(TuneChange(tunes[n], int(by[n])) for n in ranked if by[n] > 0)


def _chords(before: Iterable[Chord], after: Iterable[Chord]) -> tuple[ChordChange, ...]:
    was, now = ({(c.breath, c.holes): c.name for c in found} for found in (before, after))
    places = [*was, *(place for place in now if place not in was)]
    return tuple(
        ChordChange(*place, was.get(place), now.get(place))
        for place in places
        if was.get(place) != now.get(place)
    )


def _scales(before: Sequence[Position], after: Sequence[Position]) -> tuple[ScaleChange, ...]:
    return tuple(
        ScaleChange(here.position, here.tonic, was, now)
        for here, there in zip(before, after, strict=True)
        if (was := _hows(here)) != (now := _hows(there))
    )


def _hows(place: Position) -> dict[How, int]:
    found = [step.how for step in place.steps]
    return {how: found.count(how) for how in HOWS}
