"""Whether two things are the same within a margin: two one-sided tests.

That no difference was found is no proof that there is none. So the question is turned round: a
difference counts as within a margin when both "it is above the margin" and "it is below its
opposite" are refuted, each at 5 %. That is the case exactly when the interval of 90 % lies inside
the margins. When it lies wholly beyond one, the things differ; else nothing can be told.

Where things were repeated, how far repeats stray tells the error; the two need not stray alike. A
note repeated five times and more speaks for itself; of fewer repeats the scatter is that of all
notes of that instrument together, or the note's own where that is larger. Where nothing was
repeated, the scatter of the differences over the notes takes its place. It holds what truly
differs from note to note as well, so it errs towards "cannot tell".

Source: docs/sources.md, [schuirmann], [welch].
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from scipy.special import stdtr, stdtrit

from combwright.ear.sound import Samples

Verdict = Literal["the same", "different", "cannot tell"]
Scatter = Literal["repeats", "notes"]
ALPHA: Final = 0.05
#: A note that stands out from the others by so many of their usual distances truly differs.
_STANDS_OUT: Final = 6.0
_ENOUGH_TO_TELL: Final = 8
_FEWEST_NOTES: Final = 4
#: So many repeats tell a note's own scatter, and so many degrees of freedom that of all notes.
_REPEATS_ALONE: Final = 5
_FREEDOM_TOGETHER: Final = 4


@dataclass(frozen=True, slots=True)
class Estimate:
    """A difference, and how sure it is.

    Parameters
    ----------
    difference : float
        Of the second from the first.
    error : float
        Standard error.
    freedom : float
        Degrees of freedom behind the error.
    scatter : Scatter
        Where the error comes from: repeats, or the scatter over the notes.
    """

    difference: float
    error: float
    freedom: float
    scatter: Scatter

    def interval(self, alpha: float = ALPHA) -> tuple[float, float]:
        """Return the interval that the tests at `alpha` go by; of 90 % for 5 %."""
        reach = float(stdtrit(self.freedom, 1 - alpha)) * self.error
        return self.difference - reach, self.difference + reach

    def p_within(self, margin: float) -> float:
        """Return the larger p-value of the two tests that refute a difference beyond a margin."""
        nearer = margin - abs(self.difference)
        if self.error == 0:
            return 0.0 if nearer > 0 else 1.0
        return float(stdtr(self.freedom, -nearer / self.error))

    def verdict(self, margin: float, alpha: float = ALPHA) -> Verdict:
        """Judge the difference by a margin above 0."""
        low, high = self.interval(alpha)
        if -margin < low and high < margin:
            return "the same"
        return "different" if low > margin or high < -margin else "cannot tell"

    def shifted(self, by: float) -> "Estimate":
        """Return the estimate of a difference that is larger by so much."""
        return replace(self, difference=self.difference + by)


def of_repeats(a: Samples, b: Samples) -> Estimate:
    """Estimate a difference from at least two values of each, which need not scatter alike."""
    parts = [_Scattered(float(np.var(v, ddof=1)), len(v) - 1, len(v)) for v in (a, b)]
    return _welch(float(np.mean(b) - np.mean(a)), parts)


@dataclass(frozen=True, slots=True)
class _Scattered:
    """How values of one side scatter: a variance, the freedom behind it, and how many they are."""

    variance: float
    freedom: float
    count: int


def _welch(difference: float, sides: Sequence[_Scattered]) -> Estimate:
    """Join the errors of two means.

    error^2 = va/na + vb/nb, freedom = error^4 / ((va/na)^2/fa + (vb/nb)^2/fb).
    Source: docs/sources.md, [welch].
    """
    parts = [side.variance / side.count for side in sides]
    below = sum(part**2 / side.freedom for part, side in zip(parts, sides, strict=True))
    freedom = sum(parts) ** 2 / below if below > 0 else sum(side.freedom for side in sides)
    return Estimate(difference, float(np.sqrt(sum(parts))), float(freedom), "repeats")


def estimates(
    a: Sequence[Samples], b: Sequence[Samples], least: Sequence[float]
) -> list[Estimate | None]:
    """Estimate the difference of each note.

    Parameters
    ----------
    a, b : sequence of array
        The values of each note in the one and in the other; some may have none.
    least : sequence of float
        An error that each difference has at least, where it is not told by repeats.

    Returns
    -------
    list of Estimate or None
        None where a side has no value, or where nothing tells the error: no repeats and fewer than
        four notes.
    """
    found: list[Estimate | None] = []
    there = [n for n, both in enumerate(zip(a, b, strict=True)) if all(len(each) for each in both)]
    shifts = np.array([np.mean(b[n]) - np.mean(a[n]) for n in there])
    thin = np.array([1 / len(a[n]) + 1 / len(b[n]) for n in there])
    pools = [_together(side) for side in (a, b)]
    repeated = min(pool.freedom for pool in pools) >= _FREEDOM_TOGETHER
    for n, floor in enumerate(least):
        if n not in there:
            found.append(None)
        elif repeated or (len(there) < _FEWEST_NOTES and min(len(a[n]), len(b[n])) > 1):
            sides = [_scatter(v, pool) for v, pool in zip((a[n], b[n]), pools, strict=True)]
            found.append(_welch(float(np.mean(b[n]) - np.mean(a[n])), sides))
        elif len(there) < _FEWEST_NOTES:
            found.append(None)
        else:
            found.append(_of_notes(shifts, thin, there.index(n), floor))
    return found


def _together(values: Sequence[Samples]) -> _Scattered:
    """Return the scatter of repeats around their own means, over all notes of one side."""
    freedom = sum(max(0, len(each) - 1) for each in values)
    squares = sum(float(np.sum((each - each.mean()) ** 2)) for each in values if len(each) > 1)
    return _Scattered(squares / max(1, freedom), freedom, 1)


def _scatter(values: Samples, pool: _Scattered) -> _Scattered:
    own = float(np.var(values, ddof=1)) if len(values) > 1 else 0.0
    if len(values) >= _REPEATS_ALONE:
        return _Scattered(own, len(values) - 1, len(values))
    return _Scattered(max(own, pool.variance), pool.freedom, len(values))


def _of_notes(shifts: Samples, thin: Samples, at: int, floor: float) -> Estimate:
    """Take a note's error from the scatter of all others, were each played as often as it was."""
    others = np.arange(len(shifts)) != at
    values, weights = shifts[others], 1 / thin[others]
    if len(values) >= _ENOUGH_TO_TELL:
        off = np.abs(values - np.median(values)) * np.sqrt(weights)
        usual = float(np.median(off)) / 0.6745
        alike = off <= _STANDS_OUT * usual
        values, weights = values[alike], weights[alike]
    mean = np.average(values, weights=weights)
    freedom = len(values) - 1
    variance = float(np.sum(weights * (values - mean) ** 2)) / max(1, freedom)
    error = max(float(np.sqrt(variance * thin[at])), floor)
    return Estimate(float(shifts[at]), error, float(max(1, freedom)), "notes")
