"""Least squares on one reed: partials with one frequency and one slope, beside known disturbers.

The model is x(t) = sum of a_h cos(h p(t)) + b_h sin(h p(t)) with p(t) = w t + c t^2 / 2 and t from
the window's centre, where a slope costs the frequency nothing. Gauss and Newton's step is taken on
all of it at once.

Source: docs/sources.md, [rife-boorstyn] and [christensen-jakobsson] for the bound it reaches.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.sound import Samples

MOST_PARTIALS: Final = 24
#: A share of the sampling rate; above it a recorder's own filter bends amplitudes.
HIGHEST_SHARE: Final = 0.45
_STEPS: Final = 12


@dataclass(frozen=True, slots=True)
class Fit:
    """One reed over one window.

    Parameters
    ----------
    hz, slope : float
        Frequency at the window's centre, and its change in hertz a second.
    sd_hz : float
        What noise as strong as the residual would give.
    amplitudes : array, shape (partials,)
        Of the partials, first to last.
    residual, power : float
        Mean squares of what is left and of the whole.
    """

    hz: float
    slope: float
    sd_hz: float
    amplitudes: NDArray[np.float64]
    residual: float
    power: float

    @property
    def tone(self) -> float:
        """The power of the reed itself."""
        return float(np.sum(np.square(self.amplitudes)) / 2)


def partials_below(hz: float, rate: int, most: int = MOST_PARTIALS) -> int:
    """Return how many partials of a note a recording holds."""
    return max(1, min(most, int(HIGHEST_SHARE * rate / hz)))


def fit(
    samples: Samples,
    rate: int,
    hz: float,
    *,
    slope: float = 0.0,
    partials: int = MOST_PARTIALS,
    sloped: bool = True,
    hums: tuple[float, ...] = (),
    kept: NDArray[np.bool_] | None = None,
) -> Fit:
    """Fit one reed, from a start within about a quarter of a period over the window.

    Parameters
    ----------
    samples : array, shape (n,)
        The window.
    hz, slope : float
        Where to start.
    partials : int
        How many at most; those above the recording's reach are left out.
    sloped : bool
        Whether the frequency may change in the window.
    hums : tuple of float
        Frequencies of steady disturbers, fitted beside the reed.
    kept : array of bool, shape (n,)
        Samples that count; all without.
    """
    t = (np.arange(len(samples)) - (len(samples) - 1) / 2) / rate
    x = samples
    if kept is not None:
        t, x = t[kept], x[kept]
    many = partials_below(hz, rate, partials)
    extra = _steady(t, hums)
    w, c = 2 * np.pi * hz, 2 * np.pi * slope
    half = max(float(t[-1] - t[0]) / 2, 1e-6)
    for _ in range(_STEPS):
        design, beyond = _design(t, w, c, many, extra), 1 + sloped
        body, linear = _with_slopes(design, t, x, many, half, sloped)
        gram = body.T @ body
        gram.flat[:: len(gram) + 1] += 1e-12 * np.trace(gram) / len(gram)
        inverse = np.linalg.pinv(gram, hermitian=True)
        step = (inverse @ (body.T @ (x - design @ linear)))[-beyond:]
        w += step[0] / half
        c += step[1] / half**2 if sloped else 0.0
        if abs(step[0]) < 1e-9 + 1e-3 * np.sqrt(inverse[-beyond, -beyond] * np.mean(x**2)):
            break
    left = x - design @ linear
    residual = float(left @ left / max(1, len(x) - body.shape[1]))
    sd = float(np.sqrt(residual * inverse[-beyond, -beyond])) / half / (2 * np.pi)
    amplitudes = np.hypot(linear[:many], linear[many : 2 * many])
    return Fit(w / (2 * np.pi), c / (2 * np.pi), sd, amplitudes, residual, float(np.mean(x**2)))


def _steady(t: Samples, hums: tuple[float, ...]) -> NDArray[np.float64]:
    angles = 2 * np.pi * np.outer(t, np.asarray(hums, float))
    return np.hstack([np.cos(angles), np.sin(angles)])


def _design(t: Samples, w: float, c: float, many: int, extra: Samples) -> NDArray[np.float64]:
    turn = np.exp(1j * (w * t + c * t**2 / 2))
    powers = np.empty((many, len(t)), complex)
    powers[0] = turn
    for h in range(1, many):
        np.multiply(powers[h - 1], turn, out=powers[h])
    return np.ascontiguousarray(np.vstack([powers.real, powers.imag, extra.T])).T


def _with_slopes(
    design: Samples, t: Samples, x: Samples, many: int, half: float, sloped: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the design with the derivatives by frequency and slope, and the plain solution."""
    gram = design.T @ design
    gram.flat[:: len(gram) + 1] += 1e-12 * np.trace(gram) / len(gram)
    linear = np.linalg.solve(gram, design.T @ x)
    h = np.arange(1, many + 1)
    cosines, sines = design[:, :many], design[:, many : 2 * many]
    moved = cosines @ (h * linear[many : 2 * many]) - sines @ (h * linear[:many])
    u = t / half
    slopes = [moved * u] + ([moved * u**2 / 2] if sloped else [])
    body: NDArray[np.float64] = np.hstack([design, *(s[:, None] for s in slopes)])
    return body, np.asarray(linear, dtype=np.float64)
