"""Least squares on several reeds that sound at once: each has its own frequency and partials.

The model of reed j is g(t) sum of a_jh cos(h w_j s(t)) + b_jh sin(h w_j s(t)). What one breath does
to all of them alike is common: s(t) is time bent by a sway of the pitch (its first term is a slope)
and g(t) a swell of the level; both are sums of Legendre polynomials over the window. A sway's mean
is nothing, so a reed's frequency is its mean over the window. Gauss and Newton's step is taken on
all of it at once, and shortened where it would make the rest larger.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.partials import MOST_PARTIALS, partials_below
from combwright.ear.sound import Samples

_STEPS: Final = 16
_HALVINGS: Final = 4
_RIDGE: Final = 1e-10
#: Blocks in which what is left is summed, and how much more they must pull than noise does.
_BLOCKS: Final = 24
_RESTLESS: Final = 2.2


@dataclass(frozen=True, slots=True)
class Motion:
    """What a breath does to all reeds alike.

    Parameters
    ----------
    sway : array, shape (k,)
        Legendre coefficients, from the first on, of the pitch's relative deviation.
    swell : array, shape (m,)
        The same of the level's.
    """

    sway: Samples = field(default_factory=lambda: np.zeros(1))
    swell: Samples = field(default_factory=lambda: np.zeros(0))

    def of_orders(self, sway: int, swell: int) -> "Motion":
        """Return the same motion with so many terms, new ones nothing."""
        return Motion(_sized(self.sway, sway), _sized(self.swell, swell))


@dataclass(frozen=True, slots=True)
class Joint:
    """Several reeds over one window.

    Parameters
    ----------
    hz : array, shape (reeds,)
        Mean frequencies.
    covariance : array, shape (reeds, reeds)
        Of `hz`, in hertz squared, from noise as strong as the residual.
    motion : Motion
        Common to all.
    amplitudes : tuple of array
        Of each reed's partials, first to last.
    residual, power : float
        Mean squares of what is left and of the whole.
    free : int
        How many numbers were fitted.
    voices : array, shape (reeds, n)
        Each reed's own sound.
    left : array, shape (n,)
        What is left.
    """

    hz: Samples
    covariance: Samples
    motion: Motion
    amplitudes: tuple[Samples, ...]
    residual: float
    power: float
    free: int
    voices: Samples
    left: Samples


def fit_several(
    samples: Samples,
    rate: int,
    hz: Sequence[float] | Samples,
    *,
    motion: Motion | None = None,
    partials: int = MOST_PARTIALS,
    hums: tuple[float, ...] = (),
    steps: int = _STEPS,
    enough: float = 1e-9,
) -> Joint:
    """Fit reeds from a start within about a quarter of a period over the window.

    Parameters
    ----------
    samples : array, shape (n,)
        The window.
    hz : sequence of float, shape (reeds,)
        Where to start.
    motion : Motion or None
        Where to start, and how many terms there are; a slope alone without.
    partials : int
        How many of each reed at most; those above the recording's reach are left out.
    hums : tuple of float
        Frequencies of steady disturbers, fitted beside the reeds.
    steps : int
        How many at most.
    enough : float
        A step that leaves less by no more than this share is the last.
    """
    model = _Model(samples, rate, [partials_below(f, rate, partials) for f in hz], hums)
    start = motion or Motion()
    now = model.at(np.asarray(hz, float), start)
    for _ in range(steps):
        step, sd = model.step(now)
        size = float(np.max(np.abs(step) / np.maximum(sd, 1e-300)))
        nearer = next(model.tried(now, step), None)
        if nearer is None:
            break
        gain, now = now.cost - nearer.cost, nearer
        if size < 0.02 or gain < enough * now.cost:
            break
    return model.said(now)


@dataclass(frozen=True, slots=True)
class _State:
    hz: Samples
    motion: Motion
    rows: Samples
    gram: Samples
    linear: Samples
    cost: float


class _Model:
    """The window with its polynomials, and what is fitted to it."""

    def __init__(
        self, samples: Samples, rate: int, many: Sequence[int], hums: tuple[float, ...]
    ) -> None:
        self.x, self.many = samples, tuple(many)
        t = (np.arange(len(samples)) - (len(samples) - 1) / 2) / rate
        self.half = max(len(samples) / rate / 2, 1e-6)
        self.u = t / self.half
        angles = 2 * np.pi * np.outer(np.asarray(hums, float), t)
        self.extra = np.vstack([np.cos(angles), np.sin(angles)])
        self.total = float(samples @ samples)
        self.legendre = legendre(self.u, 2)

    def at(self, hz: Samples, motion: Motion) -> _State:
        rows = self._rows(hz, motion)
        gram = rows @ rows.T
        gram.flat[:: len(gram) + 1] *= 1 + _RIDGE
        gram.flat[:: len(gram) + 1] += 1e-300
        right = rows @ self.x
        linear = np.asarray(np.linalg.solve(gram, right), float)
        return _State(hz, motion, rows, gram, linear, float(self.total - linear @ right))

    def _bends(self, terms: int) -> Samples:
        """Return the integrals of the polynomials, each nothing at both ends."""
        self._long_enough(terms + 1)
        k = np.arange(1, terms + 1)
        return np.asarray(
            (self.legendre[2 : terms + 2] - self.legendre[:terms]) / (2 * k + 1)[:, None]
        )

    def _long_enough(self, order: int) -> None:
        if len(self.legendre) <= order:
            self.legendre = legendre(self.u, order)

    def _swells(self, terms: int) -> Samples:
        self._long_enough(terms)
        return self.legendre[1 : terms + 1]

    def _rows(self, hz: Samples, motion: Motion) -> Samples:
        sway, swell = motion.sway, motion.swell
        bent = self.u + sway @ self._bends(len(sway))
        level = 1 + swell @ self._swells(len(swell)) if len(swell) else None
        rows = np.empty((2 * sum(self.many) + len(self.extra), len(self.u)))
        first = 0
        for f, many in zip(hz, self.many, strict=True):
            turn = np.exp(2j * np.pi * f * self.half * bent)
            power = turn if level is None else turn * level
            for h in range(many):
                rows[first + h], rows[first + many + h] = power.real, power.imag
                power = power * turn
            first += 2 * many
        rows[first:] = self.extra
        return rows

    def _beyond(self, now: _State) -> Samples:
        """Return the derivatives by what is not linear, one row each."""
        found, moved, first = [], [], 0
        for many in self.many:
            h = np.arange(1, many + 1)
            a, b = now.linear[first : first + many], now.linear[first + many : first + 2 * many]
            turned = np.concatenate([h * b, -h * a])
            moved.append(turned @ now.rows[first : first + 2 * many])
            first += 2 * many
        found = [each * self.u for each in moved]
        weights = now.hz / now.hz.mean()
        whole = sum(w * each for w, each in zip(weights, moved, strict=True))
        found += [whole * bend for bend in self._bends(len(now.motion.sway))]
        if len(now.motion.swell):
            tone = now.linear[:first] @ now.rows[:first]
            level = 1 + now.motion.swell @ self._swells(len(now.motion.swell))
            tone = tone / np.where(np.abs(level) < 0.05, 0.05, level)
            found += [tone * each for each in self._swells(len(now.motion.swell))]
        return np.asarray(found)

    def step(self, now: _State) -> tuple[Samples, Samples]:
        """Return the step of what is not linear, and its noise, both in units of the rows."""
        beyond = self._beyond(now)
        shared = now.rows @ beyond.T
        reach = np.linalg.solve(now.gram, shared)
        inner = beyond @ beyond.T - shared.T @ reach
        inverse = np.linalg.pinv(inner, rcond=1e-10, hermitian=True)
        left = self.x - now.linear @ now.rows
        noise = max(now.cost, 0.0) / max(1, len(self.x) - len(now.rows))
        return inverse @ (beyond @ left), np.sqrt(np.maximum(noise * np.diag(inverse), 0))

    def tried(self, now: _State, step: Samples) -> Iterator[_State]:
        """Give the state a step ahead, or half a step and so on, if it leaves less."""
        most = float(np.max(np.abs(step[: len(self.many)]))) if len(self.many) else 0.0
        share = min(1.0, 1.5 / most) if most else 1.0
        for _ in range(_HALVINGS):
            state = self.at(*self._moved(now, share * step))
            if state.cost <= now.cost * (1 + 1e-12):
                yield state
                return
            share /= 3

    def _moved(self, now: _State, step: Samples) -> tuple[Samples, Motion]:
        reeds, sways = len(self.many), len(now.motion.sway)
        hz = now.hz + step[:reeds] / (2 * np.pi * self.half)
        sway = now.motion.sway + step[reeds : reeds + sways] / (
            2 * np.pi * self.half * now.hz.mean()
        )
        return hz, Motion(sway, now.motion.swell + step[reeds + sways :])

    def said(self, now: _State) -> Joint:
        beyond = self._beyond(now)
        shared = now.rows @ beyond.T
        reach = np.linalg.solve(now.gram, shared)
        inner = beyond @ beyond.T - shared.T @ reach
        inverse = np.asarray(np.linalg.pinv(inner, rcond=1e-12, hermitian=True), float)
        left = self.x - now.linear @ now.rows
        free = len(now.rows) + len(beyond)
        residual = float(left @ left / max(1, len(left) - free))
        bread = residual * inverse
        pulls = (beyond - reach.T @ now.rows) * left
        reeds = len(self.many)
        covariance = _covariance(bread, inverse, pulls)[:reeds, :reeds]
        return Joint(
            now.hz, covariance / (2 * np.pi * self.half) ** 2, now.motion,
            tuple(self._sizes(now.linear)), residual, self.total / len(self.x), free,
            self._voices(now), left,
        )  # fmt: skip

    def _voices(self, now: _State) -> Samples:
        edges = np.cumsum([0, *(2 * many for many in self.many)])
        return np.array([now.linear[a:b] @ now.rows[a:b] for a, b in itertools.pairwise(edges)])

    def _sizes(self, linear: Samples) -> Iterator[Samples]:
        first = 0
        for many in self.many:
            yield np.hypot(linear[first : first + many], linear[first + many : first + 2 * many])
            first += 2 * many


def _covariance(bread: Samples, inverse: Samples, pulls: Samples) -> Samples:
    """Return the covariance that white noise gives, or a larger one that the rest itself gives.

    What is left pulls at each number in short blocks; where the blocks pull more than white noise
    does, since the breath or a disturber is left too, their own sums count. Source: [white].
    """
    blocks = max(_BLOCKS, 3 * len(pulls))
    edges = np.linspace(0, pulls.shape[1], blocks + 1).astype(int)[:-1]
    sums = np.add.reduceat(pulls, edges, axis=1)
    own = inverse @ (sums @ sums.T) @ inverse
    more = np.diag(own) / np.maximum(np.diag(bread), 1e-300)
    return own if float(more.max()) > _RESTLESS else bread


def legendre(u: Samples, order: int) -> NDArray[np.float64]:
    """Return the polynomials from the zeroth to an order, shape (order + 1, n)."""
    rows = np.empty((order + 1, len(u)))
    rows[0] = 1.0
    if order:
        rows[1] = u
    for k in range(1, order):
        rows[k + 1] = ((2 * k + 1) * u * rows[k] - k * rows[k - 1]) / (k + 1)
    return rows


def _sized(values: Samples, size: int) -> Samples:
    found = np.zeros(size)
    found[: min(size, len(values))] = values[:size]
    return found
