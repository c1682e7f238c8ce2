"""The columns of the least squares on one reed, and their products.

The matrix of a step is made from the sums of u^q e^(j m p) alone, m up to twice the partials, and
once for all steps; what is left of the sound is taken exactly in each step, so that it is still
the least squares' own minimum that the steps end in.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.sound import Samples

#: A window is worked through in blocks that a processor's cache holds.
_BLOCK: Final = 4096


@dataclass(frozen=True, slots=True)
class Window:
    """A window, its time from -1 to 1, and what is sought in it."""

    u: Samples
    x: Samples
    many: int
    hums: Samples

    def start(self, turns: float, bend: float) -> "tuple[Gram, Samples]":
        """Return the products of all columns, and the amplitudes for a frequency and a slope."""
        many, beside = self.many, 2 * len(self.hums)
        sums = np.zeros((5, 2 * many + 1), complex)
        extra = np.zeros((3, 2 * many + beside, beside))
        heard = np.zeros(2 * many + beside)
        for u, x in self._blocks():
            wave, top = self._wave(u, turns, bend)
            powers = np.array([np.ones_like(u), u, u * u, u * u * u, (u * u) ** 2])
            rows = np.concatenate([powers, powers * top.real, powers * top.imag])
            cosines, sines = np.split(rows @ wave[: 2 * many].T, 2, axis=1)
            plain, real, imag = (slice(0, 5), slice(5, 10), slice(10, 15))
            sums[:, 0] += powers.sum(axis=1)
            sums[:, 1 : many + 1] += cosines[plain] + 1j * sines[plain]
            sums[:, many + 1 :] += cosines[real] - sines[imag]
            sums[:, many + 1 :] += 1j * (sines[real] + cosines[imag])
            heard += wave @ x
            for q in range(3 if beside else 0):
                extra[q] += wave @ (wave[2 * many :] * powers[q]).T
        gram = Gram(_products(sums, many), extra, many)
        return gram, np.asarray(np.linalg.solve(gram.linear(), heard), dtype=np.float64)

    def pulls(self, turns: float, bend: float, linear: Samples) -> tuple[Samples, float]:
        """Return the products of the waves with what is left times 1, u, u^2; and its square."""
        found, left = np.zeros((len(linear), 3)), 0.0
        for u, x in self._blocks():
            wave, _ = self._wave(u, turns, bend)
            rest = x - linear @ wave
            found += wave @ np.array([rest, rest * u, rest * u * u]).T
            left += float(rest @ rest)
        return found, left

    def _blocks(self) -> "list[tuple[Samples, Samples]]":
        pieces = range(0, len(self.x), _BLOCK)
        return [(self.u[a : a + _BLOCK], self.x[a : a + _BLOCK]) for a in pieces]

    def _wave(self, u: Samples, turns: float, bend: float) -> tuple[Samples, Samples]:
        """Return cosines and sines of all partials and hums, and the last partial's turning."""
        turn = np.exp(1j * (turns * u + bend / 2 * u * u))
        wave = np.empty((2 * self.many + 2 * len(self.hums), len(u)))
        now = turn.copy()
        for h in range(self.many):
            if h:
                now *= turn
            wave[h], wave[self.many + h] = now.real, now.imag
        if len(self.hums):
            angles = np.outer(self.hums, u)
            wave[2 * self.many :] = np.vstack([np.cos(angles), np.sin(angles)])
        return wave, now


def _products(sums: NDArray[np.complex128], many: int) -> Samples:
    """Return, for each power of u, the products of cosines and sines, shape (5, 2n, 2n)."""
    h = np.arange(1, many + 1)
    apart, both = h[None, :] - h[:, None], h[None, :] + h[:, None]
    near, far = sums[:, np.abs(apart)], sums[:, both]
    odd = np.sign(apart) * near.imag
    found = np.empty((len(sums), 2 * many, 2 * many))
    found[:, :many, :many] = near.real + far.real
    found[:, many:, many:] = near.real - far.real
    found[:, :many, many:] = far.imag + odd
    found[:, many:, :many] = np.swapaxes(found[:, :many, many:], 1, 2)
    return found / 2


@dataclass(frozen=True, slots=True)
class Gram:
    """The products of all columns with one another."""

    waves: Samples
    extra: Samples
    many: int

    def linear(self) -> Samples:
        """Return those of the waves and hums alone, made safe to solve."""
        n = 2 * self.many
        found = np.empty((self.extra.shape[1],) * 2)
        found[:n, :n] = self.waves[0]
        found[:, n:] = self.extra[0]
        found[n:, :n] = self.extra[0][:n].T
        found.flat[:: len(found) + 1] += 1e-9 * np.trace(found) / len(found)
        return found

    def inverse(self, linear: Samples, beyond: int) -> Samples:
        """Return the inverse with the derivatives by frequency and slope for these amplitudes."""
        n, whole = 2 * self.many, self.extra.shape[1]
        swing = _swing(linear, self.many)
        found = np.empty((whole + beyond,) * 2)
        found[:whole, :whole] = self.linear()
        share = (1.0, 0.5)
        for k in range(beyond):
            column = np.concatenate([self.waves[k + 1] @ swing, self.extra[k + 1][:n].T @ swing])
            found[:whole, whole + k] = found[whole + k, :whole] = share[k] * column
            for other in range(k + 1):
                product = share[k] * share[other] * (swing @ self.waves[k + other + 2] @ swing)
                found[whole + k, whole + other] = found[whole + other, whole + k] = product
        size = np.sqrt(np.maximum(np.diag(found), 1e-300))
        both = np.outer(size, size)
        even = found / both
        even.flat[:: len(even) + 1] += 1e-9
        return np.asarray(np.linalg.inv(even) / both)


def _swing(linear: Samples, many: int) -> Samples:
    """Return the derivative by the phase, as amplitudes of cosines and sines."""
    h = np.arange(1, many + 1)
    return np.concatenate([h * linear[many : 2 * many], -h * linear[:many]])


def gradient(pulls: Samples, linear: Samples, many: int, beyond: int) -> Samples:
    """Return the products of all columns with what is left, from those of the waves."""
    swing = _swing(linear, many)
    beside = pulls[: 2 * many, 1:].T @ swing * (1.0, 0.5)
    return np.concatenate([pulls[:, 0], beside[:beyond]])
