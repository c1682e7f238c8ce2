"""Where a reed sounds, without knowing it before: a comb laid over the spectrum.

Every frequency in question is scored by how far its partials stand above the noise around them;
a partial that is not there costs, so that neither the octave below nor the one above scores as
high. The score of the best one elsewhere tells how doubtful the first is.
"""

import functools
import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, median_filter

from combwright.ear.partials import partials_below
from combwright.ear.sound import Samples

LOWEST_HZ, HIGHEST_HZ = 75.0, 4600.0
#: Steps over the frequencies in question: short windows tell no more than this apart.
_STEP_CENTS, _SHORT_STEP_CENTS, _SHORT_S = 4.0, 8.0, 0.12
_HIGHEST_PARTIAL_HZ: Final = 12_000.0
_MOST_TEETH: Final = 60
#: What an absent partial costs, and the most that one partial can bring, in logarithms of power.
_ABSENT: Final = 2.6
_MOST: Final = 7.0
_ONE_LINE: Final = 8.0
#: The share of power on all other teeth at which every so-manieth alone is the note's.
_NEXT_TO_NOTHING: Final = 5e-4
_APART_CENTS: Final = 60.0
#: How many bins tell the noise around a frequency.
_ENOUGH: Final = 300


@dataclass(frozen=True, slots=True)
class Found:
    """A note's rough place.

    Parameters
    ----------
    hz : float
        Within a few cents.
    score, next_score : float
        Its score, and that of the best one at least 60 cents away.
    partials : int
        The last one that stands out of the noise.
    strongest : float
        By how much the clearest one does, as a logarithm of power.
    """

    hz: float
    score: float
    next_score: float
    partials: int
    strongest: float = 0.0

    def heard(self, least: float) -> bool:
        """Tell whether it is a note at all: by its score, or by one line that no noise makes.

        Of a high reed in a recording of few samples a second, and of a tone for calibration, there
        is but one.
        """
        return self.score >= least or self.strongest >= _ONE_LINE

    @property
    def doubtful(self) -> bool:
        """Whether another pitch does almost as well."""
        return self.score - self.next_score < max(2.0, 0.06 * self.score)


@functools.lru_cache(maxsize=32)
def _teeth(
    size: int, rate: int, low: float, high: float, step: float
) -> tuple[Samples, NDArray[np.intp]]:
    """Return the frequencies in question and the bins of their partials; 0 where there is none."""
    count = int(1200 * np.log2(high / low) / step) + 2
    hz = low * np.exp2(np.arange(count) * step / 1200)
    return hz, _bins(hz, size, rate)


def _bins(hz: Samples, size: int, rate: int) -> NDArray[np.intp]:
    top = min(_HIGHEST_PARTIAL_HZ, 0.45 * rate)
    partial = hz[:, None] * np.arange(1, _MOST_TEETH + 1)
    bins = np.round(partial * size / rate).astype(np.intp)
    bins[partial > top] = 0
    return bins


def find(samples: Samples, rate: int, *, near_hz: float | None = None) -> Found:
    """Find the note of a window of 40 ms and more.

    Parameters
    ----------
    near_hz : float or None
        Where it is expected; then only 5 % around it is searched.
    """
    wide, power, size = standing(samples, rate)
    low, high = (LOWEST_HZ, HIGHEST_HZ) if near_hz is None else (near_hz / 1.05, near_hz * 1.05)
    step = _STEP_CENTS if len(samples) > _SHORT_S * rate else _SHORT_STEP_CENTS
    hz, bins = _teeth(size, rate, low, min(high, 0.45 * rate), step)
    gains, scores = _scored(wide, bins)
    best = int(np.argmax(scores))
    first = int(np.argmax(wide[bins[:, 0]]))
    if scores[best] < _MOST and wide[bins[first, 0]] >= _ONE_LINE:
        # One partial alone scores less than what noise may put under many teeth.
        best = first
    far = np.abs(1200 * np.log2(hz / hz[best])) > _APART_CENTS
    others = scores[far]
    clear = np.flatnonzero(gains[best] > _ABSENT)
    last = int(clear[-1]) + 1 if len(clear) else 1
    times = _multiple(power, bins[best]) if near_hz is None else 1
    return Found(
        times * float(hz[best]),
        float(scores[best]),
        float(others.max()) if len(others) else 0.0,
        max(1, last // times),
        float(wide[bins[best]].max()),
    )


def _multiple(power: Samples, bins: NDArray[np.intp]) -> int:
    """Return how many times higher the note is, where next to nothing stands on the other teeth.

    In a sound without noise the faintest lines stand clear, too, and those between the partials of
    a note are none of its own.
    """
    there = bins[bins > 0]
    strong = np.maximum(power[there], np.maximum(power[there - 1], power[there + 1]))
    order = np.arange(1, len(there) + 1)
    for times in range(len(there), 1, -1):
        if strong[order % times > 0].sum() < _NEXT_TO_NOTHING * strong.sum():
            return times
    return 1


def comb_scores(samples: Samples, rate: int, hz: Samples) -> Samples:
    """Return how well each of some frequencies accounts for a window, shape of `hz`."""
    wide, _, size = standing(samples, rate)
    return _scored(wide, _bins(hz, size, rate))[1]


def standing(samples: Samples, rate: int) -> tuple[Samples, Samples, int]:
    """Return the logarithm of power over noise for each bin, the power, and the size."""
    size = 1 << (2 * len(samples) - 1).bit_length()
    spectrum = np.abs(np.fft.rfft(samples * _hann(len(samples)), size)) ** 2
    spectrum[0] = 0.0
    stands = np.log(spectrum / _floor(spectrum, size, rate) + 1e-9)
    wide = maximum_filter1d(stands, 3)
    wide[0] = 0.0
    return wide, spectrum, size


def _scored(wide: Samples, bins: NDArray[np.intp]) -> tuple[Samples, Samples]:
    """Return what each partial brings, and the score of each frequency."""
    # The first bin holds none; what is absent there costs nothing.
    brings = np.clip(wide, 0.0, _MOST) - _ABSENT
    brings[0] = 0.0
    gains = brings[bins]
    # The partials end somewhere; those that are missing beyond the last cost nothing.
    return gains, np.cumsum(gains, axis=1).max(axis=1)


def _floor(spectrum: Samples, size: int, rate: int) -> Samples:
    """Return the noise around each bin: medians over stretches that grow with frequency."""
    blocks = np.unique(np.round(np.geomspace(8, len(spectrum), 48)).astype(int))
    edges = np.concatenate([[0], blocks])
    wide = max(8, int(400 * size / rate))
    levels = np.array(
        [
            _third_decile(spectrum[max(0, a - wide // 2) : b + wide // 2])
            for a, b in itertools.pairwise(edges)
        ]
    )
    levels = median_filter(levels, 3, mode="nearest")
    centres = (edges[:-1] + edges[1:]) / 2
    # The third decile of an exponential is 0.357 of its mean.
    floor = np.exp(np.interp(np.arange(len(spectrum)), centres, np.log(levels / 0.357 + 1e-30)))
    return np.asarray(floor + 1e-9 * spectrum.max())


def _third_decile(values: Samples) -> float:
    # Neighbouring bins say nearly the same, so some of them will do.
    some = values[:: max(1, len(values) // _ENOUGH)]
    at = round(0.3 * (len(some) - 1))
    return float(np.partition(some, at)[at])


@functools.lru_cache(maxsize=64)
def _hann(size: int) -> Samples:
    window = np.hanning(size)
    window.setflags(write=False)
    return window


def sharpen(
    samples: Samples, rate: int, hz: float, partials: int, *, within_cents: float = 30.0
) -> float:
    """Return the frequency near `hz` whose partials together hold the most power."""
    many = partials_below(hz, rate, partials)
    size = 1 << (8 * len(samples) - 1).bit_length()
    spectrum = np.abs(np.fft.rfft(samples * _hann(len(samples)), size)) ** 2
    half = hz * (2 ** (within_cents / 1200) - 1)
    step = max(rate / len(samples) / (20 * many), half / 400)
    grid = hz + np.arange(-half, half + step, step)
    at = np.outer(np.arange(1, many + 1), grid) * (size / rate)
    low = np.minimum(at.astype(int), len(spectrum) - 2)
    part = at - low
    power = spectrum[low] * (1 - part) + spectrum[low + 1] * part
    return float(grid[np.argmax(power.sum(axis=0))])
