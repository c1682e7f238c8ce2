"""Which of several reeds that sound together to touch."""

from collections.abc import Sequence
from typing import Final

import numpy as np

#: No reed is touched for less than this.
LEAST_CENTS: Final = 0.1
#: Errors that 95 in 100 stay within.
SURE: Final = 2.0


def surely(sd_cents: float) -> float:
    """Return within how many cents of its aim a reed is left alone."""
    return max(LEAST_CENTS, SURE * sd_cents)


def to_touch(off_cents: Sequence[float], sd_cents: Sequence[float]) -> tuple[int, ...]:
    """Return the reeds to touch: none where all are on their aims as far as that is sure.

    Parameters
    ----------
    off_cents, sd_cents : sequence of float, both of the same length
        How far each reed is off, and the standard error of that.

    Returns
    -------
    tuple of int
        The one furthest off; the two furthest, where it is not sure which of them it is.
    """
    both = list(zip(off_cents, sd_cents, strict=True))
    if all(abs(off) <= surely(sd) for off, sd in both):
        return ()
    order = sorted(range(len(both)), key=lambda n: -abs(both[n][0]))
    if len(order) == 1:
        return (order[0],)
    (first, sd), (second, other) = both[order[0]], both[order[1]]
    if abs(first) - abs(second) <= max(LEAST_CENTS, SURE * float(np.hypot(sd, other))):
        return (order[0], order[1])
    return (order[0],)
