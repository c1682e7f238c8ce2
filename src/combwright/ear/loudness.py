"""Loudness as broadcasters measure it: K-weighted and gated, in LKFS.

Source: docs/sources.md, [bs1770]. Its filters are tabled for 48 kHz; for other rates the same
analogue filters are transformed anew.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.signal import bilinear, sosfilt

from combwright.ear.sound import Samples, Sound

_TABLED_RATE: Final = 48_000
_SHELF: Final = (
    (1.53512485958697, -2.69169618940638, 1.19839281085285),
    (1.0, -1.69065929318241, 0.73248077421585),
)
_HIGH_PASS: Final = ((1.0, -2.0, 1.0), (1.0, -1.99004745483398, 0.99007225036621))
_BLOCK_S, _STEP_S = 0.4, 0.1
_ABSOLUTE_GATE, _RELATIVE_GATE = -70.0, -10.0


def k_filter(rate: int) -> NDArray[np.float64]:
    """Return the two sections of the K filter, shape (2, 6)."""
    tabled = [np.concatenate([b, a]) for b, a in (_SHELF, _HIGH_PASS)]
    if rate != _TABLED_RATE:
        tabled = [_moved(section, rate) for section in tabled]
    return np.asarray(tabled, dtype=np.float64)


def _moved(section: Samples, rate: int) -> Samples:
    """Undo the bilinear transform at 48 kHz and do it again at another rate."""
    # z = (1 + s/2f) / (1 - s/2f): put in, and cleared of fractions.
    up, down = np.array([1 / (2 * _TABLED_RATE), 1.0]), np.array([-1 / (2 * _TABLED_RATE), 1.0])
    squares = [np.polymul(up, up), np.polymul(up, down), np.polymul(down, down)]
    analogue = [
        sum(c * square for c, square in zip(section[part], squares, strict=True))
        for part in (slice(0, 3), slice(3, 6))
    ]
    b, a = bilinear(analogue[0], analogue[1], fs=rate)
    return np.concatenate([np.asarray(b), np.asarray(a)])


def loudness(sound: Sound, *, channels: int = 1) -> float:
    """Return the gated loudness in LKFS of a sound that stands in so many equal channels.

    Minus infinity where nothing passes the gates.
    """
    return weighted_loudness(weigh(sound), channels=channels)


def weigh(sound: Sound) -> Sound:
    """Return a sound as the K filter passes it on, to be cut into parts that are measured apart."""
    weighted = np.asarray(sosfilt(k_filter(sound.rate), sound.samples), dtype=np.float64)
    return Sound(weighted, sound.rate)


def weighted_loudness(weighted: Sound, *, channels: int = 1) -> float:
    """Return the gated loudness in LKFS of a part of what `weigh` gave."""
    powers = channels * _block_powers(weighted.samples, weighted.rate)
    levels = -0.691 + 10 * np.log10(np.maximum(powers, 1e-30))
    loud = powers[levels > _ABSOLUTE_GATE]
    if not len(loud):
        return float("-inf")
    gate = -0.691 + 10 * np.log10(loud.mean()) + _RELATIVE_GATE
    kept = powers[(levels > _ABSOLUTE_GATE) & (levels > gate)]
    return float(-0.691 + 10 * np.log10(kept.mean()))


def _block_powers(weighted: Samples, rate: int) -> Samples:
    """Return mean squares over 0.4 s, every 0.1 s; of a shorter sound one over all of it."""
    size, step = round(_BLOCK_S * rate), round(_STEP_S * rate)
    if len(weighted) < size:
        return np.array([np.mean(np.square(weighted))])
    total = np.concatenate([[0.0], np.cumsum(np.square(weighted))])
    starts = np.arange(0, len(weighted) - size + 1, step)
    return np.asarray((total[starts + size] - total[starts]) / size, dtype=np.float64)
