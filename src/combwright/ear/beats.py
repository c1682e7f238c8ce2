"""How fast two reeds beat: the difference of their lowest partials that all but coincide.

A unison beats with the difference of its fundamentals, an octave with that of twice the lower and
the upper, a major third with that of five times the lower and four times the upper.

Source: docs/sources.md, [helmholtz].
"""

from dataclasses import dataclass
from math import gcd
from typing import Final

import numpy as np
from numpy.typing import NDArray

#: The simplest ratio within this much of an interval is the one it is heard as.
_HEARD_CENTS: Final = 25.0
_LARGEST: Final = 16
RATIOS: Final = sorted(
    ((p, q) for p in range(1, _LARGEST + 1) for q in range(1, p + 1) if gcd(p, q) == 1), key=sum
)


@dataclass(frozen=True, slots=True)
class Beat:
    """A beat of two reeds.

    Parameters
    ----------
    hz, sd_hz : float
        Beats a second, and the standard error.
    of_lower, of_upper : int
        Which partial of each meets the other's.
    """

    hz: float
    sd_hz: float
    of_lower: int
    of_upper: int


def nearest_ratio(lower_hz: float, upper_hz: float) -> tuple[int, int]:
    """Return p and q of the simple ratio p:q that an interval comes nearest to.

    The simplest, by p + q, within 25 cents; where there is none, the nearest with p up to 16.
    """
    off = [abs(1200 * np.log2(upper_hz * q / (lower_hz * p))) for p, q in RATIOS]
    fitting = (ratio for ratio, far in zip(RATIOS, off, strict=True) if far <= _HEARD_CENTS)
    return next(fitting, RATIOS[int(np.argmin(off))])


def beat(hz: tuple[float, float], covariance: NDArray[np.float64] | None = None) -> Beat:
    """Return how two reeds beat.

    Parameters
    ----------
    hz : tuple of float
        The lower and the upper.
    covariance : array, shape (2, 2), or None
        Of both, in hertz squared.
    """
    p, q = nearest_ratio(*hz)
    by = np.array([-p, q])
    spread = 0.0 if covariance is None else float(np.sqrt(max(by @ covariance @ by, 0.0)))
    return Beat(abs(q * float(hz[1]) - p * float(hz[0])), spread, p, q)
