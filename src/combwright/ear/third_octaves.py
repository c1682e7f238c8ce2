"""Third octaves: bands with edges and middles at powers of ten, and the level in each.

Source: docs/sources.md, [iec-61260].
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.sound import Sound

LOWEST_BAND, HIGHEST_BAND = -7, 12
_HALF: Final = 10 ** (1 / 20)


def middle_hz(band: int) -> float:
    """Return the exact middle of a band; 0 is 1 kHz."""
    return float(1000 * 10 ** (band / 10))


def edges_hz(band: int) -> tuple[float, float]:
    """Return where a band begins and ends."""
    return middle_hz(band) / _HALF, middle_hz(band) * _HALF


def band_levels_db(sound: Sound) -> NDArray[np.float64]:
    """Return the level in decibels of full scale in each band from 200 Hz to 16 kHz, shape (20,).

    Powers of a Hann-windowed spectrum are added, a line of it that reaches over an edge in
    parts, so what lies on an edge is shared between two bands; a band above half the sampling rate
    holds nothing, -200 dB.
    """
    size = len(sound.samples)
    window = np.hanning(size)
    power = np.abs(np.fft.rfft(sound.samples * window)) ** 2
    power *= 2 / (size * np.sum(np.square(window)))
    total = np.concatenate([[0.0], np.cumsum(power)])
    between = (np.arange(len(total)) - 0.5) * sound.rate / size
    edges = [edges_hz(band)[0] for band in range(LOWEST_BAND, HIGHEST_BAND + 2)]
    sums = np.diff(np.interp(edges, between, total))
    return np.asarray(10 * np.log10(np.maximum(sums, 1e-20)), dtype=np.float64)
