"""What a fit leaves where the reeds' partials are: the measure of whether a reed is missing.

Over the whole spectrum what a weak second reed leaves drowns in noise; within a few hertz of the
partials it stands high above it.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.hums import MAINS_HZ
from combwright.ear.partials import partials_below
from combwright.ear.several import Joint
from combwright.ear.sound import Samples

_NEAR_HZ, _FAR_HZ = 10.0, 60.0
#: Above this nothing left near the lines can be told from noise: so many standard deviations.
_SURE: Final = 4.0
#: A reed of less than this share of the strongest one's power is none that was played beside it.
_FAINT: Final = 0.01
_HUM_HZ, _ALL_BUT = 0.3, 0.95
_ECHO_S, _WEAKER = 0.06, 0.4
#: A knock in blocks of so many seconds: how far above the usual, and how much of the sound at most.
_BLOCK_S, _KNOCK, _MOST_KNOCKED = 0.004, 30.0, 0.1


def fall_db(rate: int, before: Joint, after: Joint) -> float:
    """Return by how many decibels what is left near the partials falls from one fit to another."""
    near = _near(len(after.left), rate, [*before.hz, *after.hz], _NEAR_HZ)
    first, second = (float(_power(fit.left)[near].sum()) for fit in (before, after))
    return float(10 * np.log10(max(first, 1e-30) / max(second, 1e-30)))


def something_left(rate: int, fit: Joint) -> bool:
    """Tell whether more than noise is left near the partials."""
    power = _power(fit.left)
    near = _near(len(fit.left), rate, fit.hz, _NEAR_HZ)
    around = _near(len(fit.left), rate, fit.hz, _FAR_HZ) & ~near
    if not around.any():
        return True
    # Each bin of a Hann window shares its noise with its neighbours.
    lucky = _SURE * np.sqrt(1.9 / near.sum())
    noise = float(np.median(power[around])) / np.log(2)
    return bool(power[near].mean() > (1 + lucky) * max(noise, 1e-30))


def spurious(fit: Joint, seconds: float) -> bool:
    """Tell whether the weakest voice of a fit is none: too faint, hum, or the room's echo."""
    powers = [float(np.sum(np.square(each))) for each in fit.amplitudes]
    weak, strong = int(np.argmin(powers)), int(np.argmax(powers))
    if powers[weak] < _FAINT * powers[strong]:
        return True
    hz, parts = float(fit.hz[weak]), np.square(fit.amplitudes[weak])
    hums = any(abs(hz - round(hz / f) * f) < _HUM_HZ for f in MAINS_HZ)
    if hums and parts[:2].sum() > _ALL_BUT * parts.sum():
        return True
    # An echo comes late, so under a slope it is as far off as the pitch went meanwhile.
    slope = abs(float(fit.motion.sway[0])) / (seconds / 2)
    apart = min(abs(hz / float(f) - 1) for n, f in enumerate(fit.hz) if n != weak)
    return apart < _ECHO_S * slope and powers[weak] < _WEAKER * powers[strong]


def without_knocks(samples: Samples, rate: int, fit: Joint) -> Samples:
    """Return sound in which what is left of a fit is taken out where a knock stands out of it."""
    size = max(1, round(_BLOCK_S * rate))
    blocks = len(fit.left) // size
    powers = np.square(fit.left[: blocks * size]).reshape(blocks, size).mean(axis=1)
    loud = powers > _KNOCK * np.median(powers)
    if not loud.any() or loud.mean() > _MOST_KNOCKED:
        return samples
    spoilt = np.zeros(len(samples), bool)
    spoilt[: blocks * size] = np.repeat(loud, size)
    return np.where(spoilt, samples - fit.left, samples)


def _power(left: Samples) -> Samples:
    return np.asarray(np.abs(np.fft.rfft(left * np.hanning(len(left)))) ** 2)


def _near(
    size: int, rate: int, hz: Sequence[float] | Samples, within_hz: float
) -> NDArray[np.bool_]:
    """Return which bins of a spectrum lie near a partial of any reed."""
    step = rate / size
    wide = max(2, round(within_hz / step))
    near = np.zeros(size // 2 + 1, bool)
    for f in hz:
        for h in range(1, partials_below(float(f), rate) + 1):
            at = round(h * float(f) / step)
            near[max(0, at - wide) : at + wide + 1] = True
    return near
