"""A tune: its notes one after the other, as they are played, and what was odd about reading it.

Times are whole numbers of a grain so fine that triplets, quintuplets and septuplets of any usual
value fall on it; what falls between two grains goes to the nearest.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final, NamedTuple

from combwright.files.results import BadFile

#: Grains in a whole note.
WHOLE: Final = 2**10 * 3**3 * 5 * 7
_TOGETHER: Final = WHOLE // 100
#: A tune that unfolds to more notes than this is refused: no player plays it.
MOST_NOTES: Final = 20_000


class TuneNote(NamedTuple):
    """One note that is begun: a tied one is one note.

    Parameters
    ----------
    midi : int
        Its pitch.
    start, length : int
        In grains from the beginning of the tune.
    """

    midi: int
    start: int
    length: int


@dataclass(frozen=True, slots=True)
class Tune:
    """A tune as it is played, repeats unfolded.

    Parameters
    ----------
    title : str
        Its first title; the file's name where it has none.
    notes : tuple of TuneNote
        In order, one at a time.
    source : str
        The file, and the row where one file holds several.
    remarks : tuple of str
        What was left out or read with a guess, one line each.
    bars : tuple of int
        Where its bar lines stand, in grains, each once; none where nothing tells.
    fifths : int or None
        The sharps of its first key signature, flats below 0; None where nothing tells.
    metre : str
        Its first metre, `6/8`, `C` or `C|`; empty where there is none.
    """

    title: str
    notes: tuple[TuneNote, ...]
    source: str
    remarks: tuple[str, ...] = ()
    bars: tuple[int, ...] = ()
    fifths: int | None = None
    metre: str = ""

    @property
    def pitches(self) -> tuple[int, ...]:
        """The pitches in order."""
        return tuple(note.midi for note in self.notes)


@dataclass(frozen=True, slots=True)
class Reading:
    """What a file gave: the tunes, and a line for each tune or file that could not be read."""

    tunes: tuple[Tune, ...] = ()
    faults: tuple[str, ...] = ()


class BadTune(BadFile):
    """A tune that cannot be read; the rest of its file is."""


def as_fraction(grains: int) -> str:
    """Return a time as a fraction of a whole note, as in `3/8`."""
    return str(Fraction(grains, WHOLE))


def grains(fraction: Fraction) -> int:
    """Return the grains nearest to a fraction of a whole note."""
    return round(fraction * WHOLE)


def one_at_a_time(notes: list[TuneNote]) -> tuple[TuneNote, ...]:
    """Return the top line: of notes begun together the highest; a new note ends the one before.

    Hands do not strike a chord at once: a note that begins within a hundredth of a whole note of
    another, while that one sounds, is begun together with it.
    """
    tops: list[TuneNote] = []
    end = 0  # of the chord that sounds
    for note in sorted(notes, key=lambda each: (each.start, -each.midi, -each.length)):
        stop = note.start + note.length
        if (
            tops
            and note.start - tops[-1].start <= _TOGETHER
            and (note.start < end or note.start == tops[-1].start)
        ):
            if note.midi > tops[-1].midi:
                tops[-1] = note._replace(start=tops[-1].start, length=stop - tops[-1].start)
            end = max(end, stop)
        else:
            tops.append(note)
            end = stop
    return tuple(_cut(tops))


def _cut(notes: list[TuneNote]) -> Iterator[TuneNote]:
    for note, after in pairwise(notes):
        yield TuneNote(note.midi, note.start, min(note.length, after.start - note.start))
    yield from notes[-1:]
