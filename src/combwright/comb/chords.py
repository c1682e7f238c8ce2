"""Chords: what neighbouring holes of one breath sound together, and octave splits.

Names are the usual chord symbols, by pitch classes and bass: `C`, `Cm`, `Cdim`, `G7`, `C/E`.
Two-note chords are named in words, `C fifth`, since C5 is a note here. Anything else bears the
names of its notes.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from combwright.comb.chamber import sounding_midi
from combwright.comb.layouts import Layout
from combwright.comb.seats import BREATHS, Breath
from combwright.notes.keys import transposed_name

_CHORD_WIDTHS: Final = (2, 3, 4)
#: An octave split spans so many holes; the tongue blocks those inside.
_SPLIT_WIDTHS: Final = (3, 4, 5)
#: Semitones above the root to the symbol after it. Where a set has two names (a sixth is also a
#: minor seventh), one with the root in the bass is taken first, then the earlier in this list.
_SYMBOLS: Final[Mapping[frozenset[int], str]] = MappingProxyType(
    {
        frozenset(steps): symbol
        for symbol, steps in (
            ("", (0, 4, 7)),
            ("m", (0, 3, 7)),
            ("dim", (0, 3, 6)),
            ("aug", (0, 4, 8)),
            ("7", (0, 4, 7, 10)),
            ("maj7", (0, 4, 7, 11)),
            ("m7", (0, 3, 7, 10)),
            ("m(maj7)", (0, 3, 7, 11)),
            ("m7b5", (0, 3, 6, 10)),
            ("dim7", (0, 3, 6, 9)),
            ("aug7", (0, 4, 8, 10)),
            ("aug(maj7)", (0, 4, 8, 11)),
            ("6", (0, 4, 7, 9)),
            ("m6", (0, 3, 7, 9)),
            ("sus4", (0, 5, 7)),
            ("sus2", (0, 2, 7)),
            ("7sus4", (0, 5, 7, 10)),
            ("add9", (0, 2, 4, 7)),
            ("m(add9)", (0, 2, 3, 7)),
            ("9", (0, 2, 4, 7, 10)),
            ("maj9", (0, 2, 4, 7, 11)),
            ("m9", (0, 2, 3, 7, 10)),
            ("6/9", (0, 2, 4, 7, 9)),
            ("7(no5)", (0, 4, 10)),
        )
    }
)
#: What two pitch classes are called, by the semitones from the bass up to the other.
_INTERVALS: Final = (
    "unison",
    "minor second",
    "major second",
    "minor third",
    "major third",
    "fourth",
    "tritone",
    "fifth",
    "minor sixth",
    "major sixth",
    "minor seventh",
    "major seventh",
)


@dataclass(frozen=True, slots=True)
class Chord:
    """Notes that sound together.

    Parameters
    ----------
    breath : {"blow", "draw"}
        One breath for all.
    holes : tuple of int
        The holes that sound, lowest first.
    midis : tuple of int
        Every reed that speaks, lowest first; a note twice where two reeds give it.
    name : str
        As `chord_name` gives it.
    """

    breath: Breath
    holes: tuple[int, ...]
    midis: tuple[int, ...]
    name: str


def chords(layout: Layout, *, flats: bool = False) -> tuple[Chord, ...]:
    """List what 2 to 4 neighbouring holes of one breath sound together.

    A hole with two reeds of that breath sounds both. Neighbours of which one is silent on that
    breath make no chord. Blow first, then by lowest hole, narrow before wide.
    """
    return tuple(
        chord
        for breath in BREATHS
        for start in range(1, layout.holes + 1)
        for width in _CHORD_WIDTHS
        for chord in _sounding(layout, breath, tuple(range(start, start + width)), flats)
    )


def octave_splits(layout: Layout, *, flats: bool = False) -> tuple[Chord, ...]:
    """List the pairs of holes, 3 to 5 holes wide, that sound the same note an octave apart.

    The tongue blocks the holes between. A hole with two reeds of that breath counts only where
    both are doubled at the octave. Ordered as `chords`.
    """
    return tuple(
        chord
        for breath in BREATHS
        for start in range(1, layout.holes + 1)
        for width in _SPLIT_WIDTHS
        for chord in _sounding(layout, breath, (start, start + width - 1), flats)
        if _doubled_at_the_octave(layout, chord)
    )


def chord_name(midis: Sequence[int], *, flats: bool = False) -> str:
    """Name notes that sound together, by their pitch classes and the lowest of them.

    Parameters
    ----------
    midis : sequence of int
        MIDI numbers in any order, at least one.
    flats : bool
        Spell with flats instead of sharps.

    Returns
    -------
    str
        A chord symbol, with the bass behind a stroke when it is not the root; two pitch classes
        as an interval from the bass (`E minor sixth`); one as `C unison`, or `C octave` however
        many octaves; else the names of the pitch classes from the bass up (`A B D`).

    Notes
    -----
    Where a set has two names the bass decides: A C E G is `Am7` over A and `C6` over C.
    """
    bass = min(midis)
    classes = sorted({(midi - bass) % 12 for midi in midis})
    names = {step: transposed_name(bass + step, flats=flats) for step in classes}
    if len(classes) == 1:
        return f"{names[0]} {'unison' if len(set(midis)) == 1 else 'octave'}"
    if len(classes) == 2:
        return f"{names[0]} {_INTERVALS[classes[1]]}"
    named = _root_and_symbol(classes)
    if named is None:
        return " ".join(names.values())
    root, symbol = named
    return names[root] + symbol + (f"/{names[0]}" if root else "")


def _root_and_symbol(classes: Sequence[int]) -> tuple[int, str] | None:
    """Find which of the steps above the bass is a root; the bass itself comes first."""
    readings = {
        root: symbol
        for root in classes
        if (symbol := _SYMBOLS.get(frozenset((step - root) % 12 for step in classes))) is not None
    }
    if 0 in readings:
        return 0, readings[0]
    order = list(_SYMBOLS.values())
    return min(readings.items(), key=lambda found: order.index(found[1]), default=None)


def _sounding(
    layout: Layout, breath: Breath, holes: tuple[int, ...], flats: bool
) -> Iterator[Chord]:
    """Yield the one chord of these holes, or nothing where one is silent or not there."""
    if holes[-1] > layout.holes:
        return
    each = [_notes(layout, breath, hole) for hole in holes]
    if all(each):
        midis = tuple(sorted(midi for notes in each for midi in notes))
        yield Chord(breath, holes, midis, chord_name(midis, flats=flats))


def _notes(layout: Layout, breath: Breath, hole: int) -> list[int]:
    return sorted(sounding_midi(s) for s in layout.in_hole(hole) if s.breath == breath)


def _doubled_at_the_octave(layout: Layout, chord: Chord) -> bool:
    low, high = sorted(_notes(layout, chord.breath, hole) for hole in chord.holes)
    return [midi + 12 for midi in low] == high
