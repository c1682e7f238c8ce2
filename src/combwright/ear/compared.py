"""What a comparison of two instruments says, note by note and on the whole.

Every difference is of B from A: above 0, B is louder, higher, slower, less steady.
"""

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from scipy.special import stdtrit

from combwright.ear.equivalence import ALPHA, Estimate, Scatter, Verdict
from combwright.ear.sound import BadSound, Samples

S = TypeVar("S", bound=Hashable)


class BadMargin(BadSound):
    """A margin that is not above 0."""


@dataclass(frozen=True, slots=True)
class Margins:
    """How far two notes may differ and still count as the same."""

    level_db: float = 1.5
    cents: float = 3.0

    def __post_init__(self) -> None:
        for name, value in (("level", self.level_db), ("cents", self.cents)):
            if not (value > 0 and np.isfinite(value)):
                raise BadMargin(f"The {name} margin must be above 0; it is {value:g}.")


@dataclass(frozen=True, slots=True)
class Difference:
    """One quantity of one note.

    Parameters
    ----------
    a, b : float or None
        Means of A and B as recorded; None where it could not be measured.
    estimate : Estimate or None
        Of the difference; None where a side is missing or nothing tells how far breaths stray.
    taken_out : float
        What was taken out of the difference, of levels that were matched.
    """

    a: float | None
    b: float | None
    estimate: Estimate | None
    taken_out: float = 0.0

    @property
    def difference(self) -> float | None:
        """The difference as it is judged: that of matched levels where they were matched."""
        return None if self.a is None or self.b is None else self.b - self.a - self.taken_out


@dataclass(frozen=True, slots=True)
class Spectrum:
    """Third octaves of a note, each in decibels of the note's own loudness.

    Parameters
    ----------
    a, b : array, shape (20,)
        NaN where the band is not audible in either.
    """

    a: Samples
    b: Samples

    @property
    def rms_db(self) -> float | None:
        """The root mean square difference over the audible bands."""
        square = np.square(self.b - self.a)
        return None if np.isnan(square).all() else float(np.sqrt(np.nanmean(square)))


@dataclass(frozen=True, slots=True)
class Note(Generic[S]):
    """One note of both, and what is to be said of it.

    Parameters
    ----------
    repeats : tuple of int
        How often A and B played it.
    level, pitch, attack, steadiness : Difference
        In decibels, cents, milliseconds, cents.
    spectrum : Spectrum or None
        None where a side is too quiet.
    why : str
        Why nothing can be told; empty where something can.
    """

    seat: S
    repeats: tuple[int, int]
    level: Difference
    pitch: Difference
    attack: Difference
    steadiness: Difference
    spectrum: Spectrum | None
    verdict: Verdict
    why: str

    @property
    def scatter(self) -> Scatter | None:
        """What the errors were told by."""
        return None if self.pitch.estimate is None else self.pitch.estimate.scatter


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean over the notes and its interval of 95 %; no interval of a single note."""

    mean: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Comparison(Generic[S]):
    """All notes that both have, and the seats that only one has, or neither.

    Parameters
    ----------
    level_difference_db : float or None
        Level of B over A as recorded, median of the notes, so that one odd reed does not move it.
    matched : bool
        Whether that was taken out of every note's level.
    """

    notes: tuple[Note[S], ...]
    only_a: tuple[S, ...]
    only_b: tuple[S, ...]
    neither: tuple[S, ...]
    margins: Margins
    level_difference_db: float | None
    matched: bool

    def count(self, verdict: Verdict) -> int:
        """Count the notes with a verdict."""
        return sum(note.verdict == verdict for note in self.notes)

    def mean(self, what: Callable[[Note[S]], float | None]) -> Mean | None:
        """Return the mean of something over the notes that have it; None where none has."""
        values = np.array([value for note in self.notes if (value := what(note)) is not None])
        if not len(values):
            return None
        mean = float(values.mean())
        if len(values) == 1:
            return Mean(mean, None, None)
        error = float(values.std(ddof=1) / np.sqrt(len(values)))
        reach = float(stdtrit(len(values) - 1, 1 - ALPHA / 2)) * error
        return Mean(mean, mean - reach, mean + reach)

    def band_means_db(self) -> tuple[float | None, ...]:
        """Return the mean difference in each band over the notes in which it is audible."""
        found = [note.spectrum.b - note.spectrum.a for note in self.notes if note.spectrum]
        columns = np.transpose(found) if found else np.empty((0, 0))
        heard = [column[~np.isnan(column)] for column in columns]
        return tuple(float(column.mean()) if len(column) else None for column in heard)
