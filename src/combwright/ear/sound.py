"""A sound as the ear takes it: one row of samples, and how many there are in a second."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.errors import CombwrightError

Samples = NDArray[np.float64]
#: Below this, relative to full scale, there is nothing to measure.
SILENT_DB: Final = -70.0


class BadSound(CombwrightError):
    """A sound in which nothing can be measured."""


@dataclass(frozen=True, slots=True)
class Sound:
    """Samples of one microphone.

    Parameters
    ----------
    samples : array, shape (n,)
        Full scale is 1.
    rate : int
        Samples a second.
    """

    samples: Samples
    rate: int

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return len(self.samples) / self.rate

    def part(self, start_s: float, end_s: float) -> "Sound":
        """Return what lies between two times."""
        first, last = (max(0, round(at * self.rate)) for at in (start_s, end_s))
        return Sound(self.samples[first:last], self.rate)


def level_db(samples: Samples) -> float:
    """Return the root mean square of samples in decibels of full scale, -200 for nothing at all."""
    if not len(samples):
        return -200.0
    return float(10 * np.log10(np.mean(np.square(samples)) + 1e-20))
