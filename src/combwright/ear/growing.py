"""A fit of several reeds that grows: few partials first, where a rough start is near enough.

The first rounds need only the lowest part of the spectrum and are made on thinned sound.
"""

import functools
import itertools
from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.signal import firwin, upfirdn

from combwright.ear.finding import sharpen
from combwright.ear.partials import MOST_PARTIALS, fit, partials_below
from combwright.ear.several import Joint, Motion, fit_several, legendre
from combwright.ear.sound import Samples

#: Samples a second for each hertz of the highest partial, and the filter's length in samples left.
_ABOVE: Final = 2.6
_TAPS: Final = 20
#: Frames in which a trembling reed is followed, and the periods that each must hold.
_FRAME_S: Final = 0.035
_PERIODS: Final = 5.0
#: A breath's tremor reaches some 8 Hz: two terms a period.
_SWAYS_A_SECOND: Final = 16


def grown(
    samples: Samples,
    rate: int,
    hz: Sequence[float] | Samples,
    *,
    motion: Motion | None = None,
    first: int = 2,
    most: int = MOST_PARTIALS,
    hums: tuple[float, ...] = (),
) -> Joint:
    """Fit reeds with a few partials, then with twice as many, up to `most`.

    Parameters
    ----------
    samples : array, shape (n,)
        The window.
    hz : sequence of float, shape (reeds,)
        Where to start.
    first : int
        How many partials of each reed the first round takes.
    """
    top = min(most, max(partials_below(float(f), rate) for f in hz))
    many, found = min(first, top), np.asarray(hz, float)
    while many < top:
        round_ = few(samples, rate, found, motion=motion, partials=many, hums=hums)
        found, motion = round_.hz, round_.motion
        many *= 2
    return fit_several(samples, rate, found, motion=motion, partials=top, hums=hums)


def few(
    samples: Samples,
    rate: int,
    hz: Sequence[float] | Samples,
    *,
    partials: int,
    motion: Motion | None = None,
    hums: tuple[float, ...] = (),
    steps: int = 5,
) -> Joint:
    """Fit reeds with their first partials alone, on sound thinned to what these need."""
    thin, slower = thinned(samples, rate, partials * float(max(hz)) * 1.02 + 30)
    low = tuple(f for f in hums if f < slower / _ABOVE)
    return fit_several(
        thin, slower, hz, motion=motion, partials=partials, hums=low, steps=steps, enough=1e-3
    )


def lively(samples: Samples, rate: int, calm: Joint, *, hums: tuple[float, ...] = ()) -> Joint:
    """Fit the same reeds under a breath that trembles, from the fit under one that does not."""
    terms = 2 + int(np.ceil(_SWAYS_A_SECOND * len(samples) / rate))
    motion = calm.motion.of_orders(terms, terms // 2)
    if len(calm.hz) > 1:
        # Where partials strayed by half a period only a start from the lowest comes home.
        return grown(samples, rate, calm.hz, motion=motion, first=2, hums=hums)
    hz, seen = _followed(samples, rate, float(calm.hz[0]), terms)
    motion = Motion(seen, np.zeros(terms // 2))
    return grown(samples, rate, [hz], motion=motion, first=4, hums=hums)


def _followed(samples: Samples, rate: int, hz: float, terms: int) -> tuple[float, Samples]:
    """Follow a lone reed through short frames: its mean, and the sway's terms."""
    count = max(2, round(len(samples) / rate / max(_FRAME_S, _PERIODS / hz)))
    edges = np.linspace(0, len(samples), count + 1).astype(int)
    track = []
    for a, b in itertools.pairwise(edges):
        part = samples[a:b]
        start = sharpen(part, rate, hz, 6, within_cents=20.0)
        track.append(fit(part, rate, start, partials=12).hz)
    u = (edges[1:] + edges[:-1]) / len(samples) - 1
    many = min(terms, max(1, count * 2 // 3))
    ratio = np.clip(np.array(track) / np.median(track), 0.97, 1.03)
    found = np.linalg.lstsq(legendre(u, many).T, ratio, rcond=None)[0]
    sway = np.zeros(terms)
    sway[:many] = found[1:] / found[0]
    return float(np.median(track) * found[0]), sway


def thinned(samples: Samples, rate: int, top_hz: float) -> tuple[Samples, int]:
    """Return sound with fewer samples a second and all there is up to a frequency.

    A window's middle stays the middle to within a sample that is left.
    """
    factor = int(rate / (_ABOVE * top_hz))
    while factor > 1 and rate % factor:
        factor -= 1
    half = _TAPS // 2 * factor
    if factor < 2 or len(samples) < 8 * half:
        return samples, rate
    found = upfirdn(_low_pass(factor), samples, 1, factor)
    return np.asarray(found[2 * half // factor : (len(samples) - 1) // factor + 1]), rate // factor


@functools.lru_cache(maxsize=32)
def _low_pass(factor: int) -> Samples:
    return np.asarray(firwin(_TAPS // 2 * 2 * factor + 1, 1 / factor, window=("kaiser", 6.0)))
