"""Third octaves: bands with edges and middles at powers of ten, and the level in each.

Source: docs/sources.md, [iec-61260].
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.sound import Sound

LOWEST_BAND, HIGHEST_BAND = -7, 12
_HALF: Final = 10 ** (1 / 20)
_ORDER: Final = 3


def middle_hz(band: int) -> float:
    """Return the exact middle of a band; 0 is 1 kHz."""
    return float(1000 * 10 ** (band / 10))


def edges_hz(band: int) -> tuple[float, float]:
    """Return where a band begins and ends."""
    return middle_hz(band) / _HALF, middle_hz(band) * _HALF


def band_levels_db(sound: Sound) -> NDArray[np.float64]:
    """Return the level in decibels of full scale in each band from 200 Hz to 16 kHz, shape (20,).

    The power spectrum is weighed as a Butterworth filter of third order does, which stays within
    the limits of class 1: 3 dB down at the edges, so that a tone near one moves from band to band
    as its pitch does and no window's side lobes are heard. A band above half the sampling rate
    holds nothing, -200 dB.
    """
    size = len(sound.samples)
    window = np.hanning(size)
    power = np.abs(np.fft.rfft(sound.samples * window)) ** 2
    power *= 2 / (size * np.sum(np.square(window)))
    hz = np.asarray(np.fft.rfftfreq(size, 1 / sound.rate), dtype=np.float64)
    sums = [
        np.dot(power[1:], _passed(hz[1:], band)) if edges_hz(band)[0] < sound.rate / 2 else 0.0
        for band in range(LOWEST_BAND, HIGHEST_BAND + 1)
    ]
    return np.asarray(10 * np.log10(np.maximum(sums, 1e-20)), dtype=np.float64)


def _passed(hz: NDArray[np.float64], band: int) -> NDArray[np.float64]:
    """Return the share of power that a band's filter lets pass at each frequency."""
    share = hz / middle_hz(band)
    off = (share - 1 / share) / (_HALF - 1 / _HALF)
    return np.asarray(1 / (1 + off ** (2 * _ORDER)), dtype=np.float64)
