"""Where two reeds may be that sound almost in tune: start values for the fit of both.

Wherever a partial of the one lies beside a partial of the other, the sound holds two lines that a
spectrum shows as one. For every two places of the lines, and a common slope, the power is worked
out that both lines together explain around the strongest of these; of the best places several are
returned, since the nearest valley of the fit need not be the deepest.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.sound import Samples

_AROUND_HZ: Final = 6.0
_AROUND_CENTS: Final = 30.0
_SLOPE_CENTS: Final = 4.0
_MOST_SLOPES: Final = 13
_MOST_PLACES: Final = 260
_GROUPS, _OF_FIRST = 4, 8
#: Places this far apart, in periods over the window of the highest line, are tried one by one.
_STEP: Final = 0.3
_TAPER: Final = 0.15
_RIDGE: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Start:
    """Where a fit may begin.

    Parameters
    ----------
    lower_hz, upper_hz : float
        Of the two reeds.
    slope : float
        Relative deviation of the pitch at the window's end.
    explained : float
        Power of the lines looked at that two lines there account for.
    partials : int
        The highest partial of the upper reed that was looked at.
    """

    lower_hz: float
    upper_hz: float
    slope: float
    explained: float
    partials: int


def starts(
    samples: Samples, rate: int, near_hz: float, *, times: tuple[int, int] = (1, 1), most: int = 6
) -> list[Start]:
    """Return the likeliest places of two reeds, best first.

    Parameters
    ----------
    samples : array, shape (n,)
        The window.
    near_hz : float
        Where their first lines meet.
    times : tuple of int
        Which partial of the lower and of the upper reed meet there: (1, 1) for a unison, (2, 1)
        for an octave.
    most : int
        How many.
    """
    lines = _Lines(samples, rate, near_hz, times)
    return list(lines.best(most))


class _Lines:
    """What is found around each place where partials meet."""

    def __init__(self, samples: Samples, rate: int, near_hz: float, times: tuple[int, int]) -> None:
        self.near, self.times = near_hz, times
        self.seconds = len(samples) / rate
        reach = max(_AROUND_HZ, near_hz * (2 ** (_AROUND_CENTS / 1200) - 1))
        self.reach = min(reach, near_hz / max(times) / 3)
        self.bands = [
            _Band(samples, rate, near_hz, k, self.reach)
            for k in range(1, _OF_FIRST + 1)
            if k == 1 or k * near_hz < 0.45 * rate
        ]
        strong = sorted(self.bands, key=lambda band: -band.power)[:_GROUPS]
        self.bands = [band for band in strong if band.power > 0.003 * strong[0].power]
        top = max(band.k for band in self.bands)
        self.partials = top
        step = max(_STEP / (top * self.seconds), 2 * self.reach / _MOST_PLACES)
        self.places = np.arange(-self.reach, self.reach + step, step)
        most = 2 ** (_SLOPE_CENTS / 1200) - 1
        fine = 1.4 / (np.pi * top * near_hz * self.seconds / 2)
        count = 2 * min(int(np.ceil(most / fine)), _MOST_SLOPES // 2) + 1
        self.slopes = np.linspace(-most, most, count)

    def best(self, most: int) -> Iterator[Start]:
        top, at = self._map()
        lower, upper = self.times
        near = max(2, round(0.5 / self.partials / self.seconds / (self.places[1] - self.places[0])))
        for _ in range(most):
            i, j = np.unravel_index(np.argmax(top), top.shape)
            if not np.isfinite(top[i, j]):
                return
            yield Start(
                (self.near + float(self.places[i])) / lower,
                (self.near + float(self.places[j])) / upper,
                float(self.slopes[at[i, j]]),
                float(top[i, j]),
                self.partials,
            )
            top[max(0, i - near) : i + near + 1, max(0, j - near) : j + near + 1] = -np.inf

    def _map(self) -> tuple[Samples, NDArray[np.intp]]:
        """Return the most that two places explain under any slope, and which slope that is."""
        size = len(self.places)
        for band in self.bands:
            band.lay(self.places)
        best, at = np.full((size, size), -np.inf), np.zeros((size, size), np.intp)
        for n, slope in enumerate(self.slopes):
            found = np.zeros((size, size))
            for band in self.bands:
                found += band.explained(slope)
            if self.times == (1, 1):
                found[np.tril_indices(size)] = -np.inf
            else:
                found[np.diag_indices(size)] = -np.inf
            better = found > best
            best[better], at[better] = found[better], n
        return best, at


class _Band:
    """The sound around the k-th meeting of partials, carried down to zero and thinned."""

    def __init__(self, samples: Samples, rate: int, near_hz: float, k: int, reach: float) -> None:
        n = len(samples)
        t = (np.arange(n) - (n - 1) / 2) / rate
        seconds = n / rate
        edge = max(2, int(_TAPER * n))
        taper = np.ones(n)
        taper[:edge] = np.sin(np.pi / 2 * (np.arange(edge) + 0.5) / edge) ** 2
        taper[-edge:] = taper[:edge][::-1]
        wide = int(np.ceil((k * reach + 8 / seconds) * seconds))
        turned = np.fft.fft(samples * taper * np.exp(-2j * np.pi * k * near_hz * t))
        kept = np.concatenate([turned[: wide + 1], turned[-wide:]])
        size = len(kept)
        self.k, self.hz, self.half = k, k * near_hz, seconds / 2
        self.t = t[0] + np.arange(size) * seconds / size
        self.weights = np.interp(self.t, t, taper)
        self.z = np.fft.ifft(kept) * size / n
        self.power = float(np.sum(np.abs(self.z) ** 2)) / size

    def lay(self, places: Samples) -> None:
        """Get ready for lines at some places: their overlaps hang on their distances alone."""
        self.total = float(np.sum(self.weights**2))
        self.turns = np.exp(-2j * np.pi * self.k * np.outer(places, self.t))
        apart = np.arange(len(places)) * (places[1] - places[0])
        turns = np.exp(-2j * np.pi * self.k * np.outer(apart, self.t))
        g = turns @ self.weights**2 / self.total
        steps = np.arange(len(places))[None, :] - np.arange(len(places))[:, None]
        overlap = np.where(steps >= 0, np.conj(g)[np.abs(steps)], g[np.abs(steps)])
        ridge = 1 + _RIDGE
        share = self.total / len(self.t) / (ridge**2 - np.abs(overlap) ** 2)
        self.own = np.asarray(ridge * share, dtype=np.float32)
        self.both = np.asarray(2 * overlap * share, dtype=np.complex64)

    def explained(self, slope: float) -> NDArray[np.float32]:
        """Return the power that lines at any two of the places explain, shape (places, places)."""
        u = self.t / self.half
        bent = np.exp(-2j * np.pi * self.hz * self.half * slope * (u**2 - 1) / 2)
        c = (self.turns @ (self.z * bent * self.weights) / self.total).astype(np.complex64)
        own = np.square(np.abs(c))
        turned = self.both * c[None, :]
        cross = c.real[:, None] * turned.real + c.imag[:, None] * turned.imag
        return np.asarray(self.own * (own[:, None] + own[None, :]) - cross, dtype=np.float32)
