"""A stretch of sound in frames: each fitted by itself, then brought to one count of phase.

All frames share the phases of the partials against each other; so every frame tells not only how
high the reed was, but also how many turns it has made since the frame before, which is far finer.
"""

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.finding import sharpen
from combwright.ear.hums import apart
from combwright.ear.partials import Fit, fit, partials_below
from combwright.ear.sound import Samples

FRAME_S: Final = 0.03
#: Periods that a frame must hold.
_PERIODS: Final = 6.0
#: A frame in which so many times the usual is left holds a knock.
_CLICK: Final = 6.0
_ASTRAY_CENTS: Final = 100.0
_WITHIN_CENTS: Final = 25.0
_ROUNDS: Final = 3


@dataclass(frozen=True, slots=True)
class Frames:
    """Fits of equal stretches, one after the other.

    Parameters
    ----------
    fits : tuple of Fit
        Of the undisturbed frames.
    at_s : array, shape (frames,)
        Their centres, from the middle of the whole stretch.
    frame_s, seconds : float
        How long a frame is, and the whole stretch.
    samples : int
        In a frame.
    """

    fits: tuple[Fit, ...]
    at_s: Samples
    frame_s: float
    seconds: float
    samples: int

    @property
    def hz(self) -> Samples:
        """The frequency of each."""
        return np.array([each.hz for each in self.fits])

    @property
    def noise(self) -> float:
        """The usual mean square of what is left."""
        return max(float(np.median([each.residual for each in self.fits])), 1e-30)


def frames_of(x: Samples, rate: int, hz: float, hums: tuple[float, ...]) -> Frames:
    """Fit a stretch frame by frame, from a note known to a few cents.

    Frames with a knock in them are left out, unless hardly any would stay.
    """
    count = max(1, int(len(x) / rate / max(FRAME_S, _PERIODS / hz) + 0.01))
    edges = np.round(np.linspace(0, len(x), count + 1)).astype(int)
    frame_s = len(x) / count / rate
    many, beside = partials_below(hz, rate), apart(hums, hz, 2.5 / frame_s)
    fits = []
    for a, b in itertools.pairwise(edges):
        start = sharpen(x[a:b], rate, hz, many, within_cents=_WITHIN_CENTS)
        fits.append(fit(x[a:b], rate, start, partials=many, hums=beside))
    good = _undisturbed(fits, hz)
    at = (edges[:-1] + edges[1:] - len(x)) / 2 / rate
    kept = tuple(each for each, fine in zip(fits, good, strict=True) if fine)
    return Frames(kept, at[good], frame_s, len(x) / rate, len(x) // count)


def _undisturbed(fits: list[Fit], hz: float) -> NDArray[np.bool_]:
    left = np.array([each.residual for each in fits])
    strayed = np.abs(1200 * np.log2(np.clip([each.hz / hz for each in fits], 0.5, 2)))
    good = (left < _CLICK * max(float(np.median(left)), 1e-30)) & (strayed < _ASTRAY_CENTS)
    return good if good.sum() >= min(2, len(fits)) else np.ones(len(fits), bool)


@dataclass(frozen=True, slots=True)
class Phases:
    """How far a reed has turned.

    Parameters
    ----------
    turned : array, shape (frames,)
        Radians of the fundamental at the centre of each frame, counted on from the first.
    strays : array, shape (partials, frames)
        Radians by which each partial strays from its part of that.
    lines : array of complex, shape (partials,)
        The partials that all frames share.
    """

    turned: Samples
    strays: Samples
    lines: NDArray[np.complex128]


def phases_of(frames: Frames) -> Phases:
    """Count the turns from frame to frame: by their frequencies first, then by all partials."""
    many = min(len(each.lines) for each in frames.fits)
    lines = np.array([each.lines[:many] for each in frames.fits]).T
    order = np.arange(1, many + 1)[:, None]
    weight = float(np.sum((order * np.abs(lines)) ** 2) / lines.shape[1])
    reach = 10 * np.sqrt(2 * frames.noise / frames.samples / max(weight, 1e-300)) + 0.02
    bends = np.abs(np.diff(frames.hz, 2))
    reach += float(bends.max(initial=0.0)) * frames.frame_s
    turned = [0.0]
    for k, (a, b) in enumerate(itertools.pairwise(frames.fits)):
        apart_s = float(frames.at_s[k + 1] - frames.at_s[k])
        ahead = np.pi * (a.hz + b.hz) * apart_s + np.pi * (a.slope - b.slope) * apart_s**2 / 6
        step = lines[:, k + 1 : k + 2] * np.conj(lines[:, k : k + 1]) * np.exp(-1j * order * ahead)
        turned.append(turned[-1] + ahead + float(_turn(step, reach)[0]))
    found = np.array(turned)
    for _ in range(_ROUNDS):
        straight = lines * np.exp(-1j * order * found)
        shared = straight.mean(axis=1, keepdims=True)
        found = found + _turn(straight * np.conj(shared), reach)
    straight = lines * np.exp(-1j * order * found)
    shared = straight.mean(axis=1, keepdims=True)
    strays = (straight * np.conj(shared)).imag / np.maximum(np.abs(shared) ** 2, 1e-300)
    return Phases(found, strays, shared[:, 0])


def _turn(products: NDArray[np.complex128], reach: float) -> Samples:
    """Return by how much each column is turned: the best within reach, then Newton's step.

    A partial of order h is turned h times as far, shape (partials, columns).
    """
    order = np.arange(1, len(products) + 1)[:, None]
    most = min(reach, np.pi)
    grid = np.linspace(-most, most, 2 * int(most * len(products) / 0.5) + 3)
    fits = np.real(np.exp(-1j * np.outer(grid, order[:, 0])) @ products)
    best: Samples = grid[np.argmax(fits, axis=0)]
    for _ in range(2):
        now = products * np.exp(-1j * order * best)
        bend = np.sum(order**2 * now.real, axis=0)
        best = best + np.sum(order * now.imag, axis=0) / np.where(bend > 0, bend, np.inf)
    return best
