"""The hum of the mains beside a reed."""

from typing import Final

import numpy as np

from combwright.ear.sound import Samples

MAINS_HZ: Final = (50.0, 60.0)
_LINES: Final = 6
_SHORTEST_S: Final = 0.08
#: A line counts where its power is so many times that around it.
_STANDS: Final = 20.0


def hums_in(x: Samples, rate: int, hz: float) -> tuple[float, ...]:
    """Return the mains frequencies that stand out, except beside a partial of the reed."""
    seconds = len(x) / rate
    if seconds < _SHORTEST_S:
        return ()
    # Only what lies below the seventh line is looked at, so the transform need not be of all.
    spectrum = np.abs(np.fft.rfft(x * np.hanning(len(x)), 4 * len(x))) ** 2
    step = rate / (4 * len(x))
    for mains in MAINS_HZ:
        lines = apart(tuple(mains * k for k in range(1, _LINES + 1)), hz, 3 / seconds)
        heard = tuple(line for line in lines if _stands(spectrum, step, line, seconds))
        if mains in heard:
            return heard
    return ()


def apart(lines: tuple[float, ...], hz: float, least_hz: float) -> tuple[float, ...]:
    """Return those lines that are so far from every partial of a note."""
    return tuple(f for f in lines if abs(f - max(1, round(f / hz)) * hz) > least_hz)


def _stands(spectrum: Samples, step: float, line: float, seconds: float) -> bool:
    near, far = round(1.5 / seconds / step), round(12 / seconds / step)
    mid = round(line / step)
    around = np.concatenate(
        [spectrum[max(1, mid - far) : mid - 2 * near], spectrum[mid + 2 * near : mid + far]]
    )
    peak = spectrum[max(0, mid - near // 3) : mid + near // 3 + 1].max()
    return bool(len(around) and peak > _STANDS * np.median(around))
