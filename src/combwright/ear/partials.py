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

from combwright.ear.columns import Window, gradient
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
    lines : array of complex, shape (partials,)
        Of the partials, first to last: amplitude, and phase at the centre.
    residual, power : float
        Mean squares of what is left and of the whole.
    """

    hz: float
    slope: float
    sd_hz: float
    lines: NDArray[np.complex128]
    residual: float
    power: float

    @property
    def amplitudes(self) -> NDArray[np.float64]:
        """Of the partials, first to last."""
        return np.abs(self.lines)

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
    half = max(float(t[-1] - t[0]) / 2, 1e-6)
    window = Window(t / half, x, many, 2 * np.pi * half * np.asarray(hums, float))
    turns, bend = 2 * np.pi * hz * half, 2 * np.pi * slope * half**2
    gram, linear = window.start(turns, bend)
    beyond = 1 + sloped
    for _ in range(_STEPS):
        inverse = gram.inverse(linear, beyond)
        pulls, left = window.pulls(turns, bend, linear)
        step = inverse @ gradient(pulls, linear, many, beyond)
        linear = linear + step[:-beyond]
        turns += step[-beyond]
        bend += step[-1] if sloped else 0.0
        scale = np.sqrt(max(float(inverse[-beyond, -beyond]), 0.0) * left / len(x))
        if abs(step[-beyond]) < 1e-9 + 1e-2 * scale:
            break
    residual = left / max(1, len(x) - len(inverse))
    sd = float(np.sqrt(residual * max(float(inverse[-beyond, -beyond]), 0.0))) / half / (2 * np.pi)
    lines = linear[:many] - 1j * linear[many : 2 * many]
    return Fit(
        turns / half / (2 * np.pi),
        bend / half**2 / (2 * np.pi),
        sd,
        lines,
        residual,
        float(np.mean(x**2)),
    )
