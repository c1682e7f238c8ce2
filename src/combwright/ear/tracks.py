"""The mean pitch of a stretch from the phases and frequencies of its frames.

The pitch is a mean and a slope, and around them a wandering of unknown size: a slow one, or one as
quick as a breath trembles. Each size is weighed by how likely it makes what was seen; the means
are averaged with these weights. Where the sound is steady that is the least squares fit of all of
it at once, to the bound of [christensen-jakobsson]; where it trembles, what counts is how
many turns the reed has made, and so the error stated grows by itself.

Source: docs/sources.md, [rasmussen-williams] chapter 2.7 and 5 for the weighing.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.frames import Frames, Phases
from combwright.ear.sound import Samples
from combwright.ear.strays import strays_of

#: How long a wandering keeps its way: a breath's trembling of 3 to 8 Hz, and a drift; a bend of
#: the whole stretch keeps it for this share of that.
_KEEPS_S: Final = (0.04, 0.2)
_KEEPS_SHARE: Final = 0.7
_SIZES_CENTS: Final = np.geomspace(0.0003, 30, 18)
#: What is believed of a steady sound beforehand.
_STEADY: Final = 0.65
_KNOWN: Final = 10.0
#: Nodes at which the pitch is sought, to a frame, and the weights of an integral over them.
_PIECES: Final = 4
_FOUR: Final = np.array([7, 32, 12, 32, 7]) / 90


@dataclass(frozen=True, slots=True)
class Track:
    """A mean and what is known of it, in radians a second."""

    mean: float
    sd: float
    steady: float


def track_of(frames: Frames, phases: Phases) -> Track:
    """Weigh all wanderings and return the mean over the stretch."""
    centre = 2 * np.pi * float(np.mean(frames.hz))
    sizes = np.square(_SIZES_CENTS * centre * np.log(2) / 1200)
    strays = strays_of(frames, phases)
    white = _whitening(frames, phases) / np.sqrt(strays.noise)
    fixed = _each(white, np.concatenate([_at(t) for t in frames.at_s]))
    seen = _each(white, _seen(frames, phases, centre))
    steps, mean = _steps(frames)
    steps = _each(white, steps)
    nodes = _nodes(frames)
    apart = np.abs(nodes[:, None] - nodes[None, :])
    found = [_weighed(seen, fixed, _Wandering.none(len(seen)), np.zeros(1))]
    for keeps in (*_KEEPS_S, _KEEPS_SHARE * frames.seconds):
        kernel = np.exp(-((apart / keeps) ** 2) / 2)
        found.append(_weighed(seen, fixed, _Wandering.of(kernel, steps, mean), sizes))
    logs, means, variances = np.hstack(found)
    before = np.full(len(logs), (1 - _STEADY) / (len(logs) - 1))
    before[0] = _STEADY
    weights = before * np.exp(logs - logs.max())
    weights /= weights.sum()
    best = float(weights @ means)
    spread = float(weights @ (variances + (means - best) ** 2)) + strays.drift
    slope = float(np.polyfit(frames.at_s, frames.hz, 1)[0]) * 2 * np.pi
    # Whether a glide is even in hertz or in cents nobody knows; the fit is off by as much.
    spread += ((slope * frames.seconds) ** 2 / (60 * centre)) ** 2
    return Track(centre + best, float(np.sqrt(spread)), float(weights[0]))


def _seen(frames: Frames, phases: Phases, centre: float) -> Samples:
    slopes = np.array([each.slope for each in frames.fits])
    turned = phases.turned - centre * frames.at_s
    each = np.array([turned - turned.mean(), 2 * np.pi * frames.hz - centre, 2 * np.pi * slopes])
    return each.T.ravel()


def _at(t: float) -> NDArray[np.float64]:
    """Return what phase, frequency and slope a steady glide has at a time."""
    return np.array([[1.0, t, t**2 / 2], [0.0, 1.0, t], [0.0, 0.0, 1.0]])


def _whitening(frames: Frames, phases: Phases) -> NDArray[np.float64]:
    """Return what makes of the three numbers that a frame gives three with noise of one."""
    order = np.arange(1, len(phases.lines) + 1)
    power = float(np.sum((order * np.abs(phases.lines)) ** 2)) * frames.samples / 2
    t = frames.frame_s
    known = np.array([[1, 0, t**2 / 24], [0, t**2 / 12, 0], [t**2 / 24, 0, t**4 / 320]])
    return np.asarray(np.linalg.cholesky(known * power / frames.noise).T, dtype=np.float64)


def _each(white: NDArray[np.float64], rows: NDArray[np.float64]) -> NDArray[np.float64]:
    """Apply it to the three rows of every frame."""
    threes = rows.reshape(-1, 3, *rows.shape[1:])
    return np.asarray(np.einsum("ij,fj...->fi...", white, threes).reshape(rows.shape))


def _nodes(frames: Frames) -> Samples:
    count = round(frames.seconds / frames.frame_s)
    return np.linspace(-frames.seconds / 2, frames.seconds / 2, _PIECES * count + 1)


def _steps(frames: Frames) -> tuple[NDArray[np.float64], Samples]:
    """Return what frames make of a pitch given at the nodes, and that pitch's mean."""
    nodes = _nodes(frames)
    step = float(nodes[1] - nodes[0])
    turned = step * _integrals(len(nodes))
    inside = (np.arange(_PIECES + 1) - _PIECES / 2) * step
    # A frame's own fit is a parabola through its phase.
    parabola = np.array([np.ones(len(inside)), inside, inside**2 / 2])
    project = np.linalg.solve((parabola * _FOUR) @ parabola.T, parabola * _FOUR)
    firsts = [round((at - frames.frame_s / 2 - nodes[0]) / step) for at in frames.at_s]
    rows = [project @ turned[first : first + _PIECES + 1] for first in firsts]
    return np.concatenate(rows), turned[-1] / frames.seconds


def _integrals(count: int) -> NDArray[np.float64]:
    """Return the weights that integrate a smooth row from its first value to each, steps of one."""
    inner = np.zeros((count - 1, count))
    for k in range(count - 1):
        if k in (0, count - 2):
            ends = np.array([9, 19, -5, 1]) / 24
            inner[k, :4] += ends if k == 0 else 0.0
            inner[k, -4:] += ends[::-1] if k else 0.0
        else:
            inner[k, k - 1 : k + 3] = np.array([-1, 13, 13, -1]) / 24
    return np.vstack([np.zeros(count), np.cumsum(inner, axis=0)])


@dataclass(frozen=True, slots=True)
class _Wandering:
    """A way of wandering, in directions in which what is seen of it is independent.

    Parameters
    ----------
    ways, sizes : array, shape (n, n) and (n,)
        The directions, and how large the wandering of size one is in each.
    pull : array, shape (n,)
        Its covariance with the mean over the stretch.
    own : float
        The variance of that mean.
    """

    ways: NDArray[np.float64]
    sizes: Samples
    pull: Samples
    own: float

    @classmethod
    def none(cls, count: int) -> "_Wandering":
        return cls(np.eye(count), np.zeros(count), np.zeros(count), 0.0)

    @classmethod
    def of(cls, kernel: Samples, steps: Samples, mean: Samples) -> "_Wandering":
        cross = kernel @ steps.T
        sizes, ways = np.linalg.eigh(steps @ cross)
        return cls(
            ways, np.maximum(sizes, 0.0), ways.T @ (cross.T @ mean), float(mean @ kernel @ mean)
        )


def _weighed(
    seen: Samples, fixed: NDArray[np.float64], wandering: _Wandering, squares: Samples
) -> NDArray[np.float64]:
    """Return how likely each size is, the mean that it gives, and that mean's variance."""
    scale = np.linalg.norm(fixed, axis=0)
    columns, y = wandering.ways.T @ (fixed / scale), wandering.ways.T @ seen
    found, free = [], len(y) - len(scale)
    for square in squares:
        weight = 1 / (1 + square * wandering.sizes)
        inverse = np.linalg.inv((columns.T * weight) @ columns)
        beta = inverse @ (columns.T @ (weight * y))
        left = y - columns @ beta
        log = np.sum(np.log(weight)) + np.linalg.slogdet(inverse)[1]
        # The noise's own size is not known either: as if so many values more had been seen.
        noise = (_KNOWN + left @ (weight * left)) / (_KNOWN + free)
        log -= (_KNOWN + free) * np.log(noise)
        pulled = square * weight * wandering.pull
        lever = np.array([0.0, 1 / scale[1], 0.0]) - columns.T @ pulled
        mean = beta[1] / scale[1] + pulled @ left
        variance = square * wandering.own - square * pulled @ wandering.pull
        found.append((log / 2, mean, noise * (variance + lever @ inverse @ lever)))
    return np.array(found).T
