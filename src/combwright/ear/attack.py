"""How fast a reed speaks: its attack, from a tenth to nine tenths of its steady level.

The envelope is the root mean square over two periods of the note, so that the wave itself does not
ripple in it; the room's own power, as it was just before the note, is taken off. The attack ends
where the envelope first reaches nine tenths of what it is once the note is steady, and begins where
it was last below one tenth before that. Two periods are also the finest that can be told: a note
that is there at once reads as 1.6 periods.
"""

from typing import Final

import numpy as np
from scipy.signal import butter, sosfilt

from combwright.ear.sound import Samples, Sound
from combwright.ear.stretches import Stretch

PERIODS: Final = 2.0
LOW, HIGH = 0.1, 0.9
_BEFORE_S: Final = 0.06
_ROOM_S: Final = 0.01
#: A room nearer than this to the note's power hides where the note begins.
_ROOM_BELOW: Final = 0.03


def envelope(sound: Sound, hz: float) -> Samples:
    """Return the mean square of a sound over two periods around each sample, shape (n,)."""
    size = max(1, round(PERIODS * sound.rate / hz))
    total = np.concatenate([[0.0], np.cumsum(np.square(sound.samples))])
    at = np.arange(len(sound.samples))
    first = np.maximum(at - size // 2, 0)
    last = np.minimum(first + size, len(sound.samples))
    means = (total[last] - total[first]) / np.maximum(1, last - first)
    return np.asarray(np.maximum(means, 0.0), dtype=np.float64)


def attack_s(
    sound: Sound, stretch: Stretch, hz: float, *, not_before_s: float = 0.0
) -> float | None:
    """Return the attack of one note of a recording.

    Parameters
    ----------
    sound : Sound
        The recording.
    stretch : Stretch
        Where the note sounds, to a few hundredths of a second.
    hz : float
        Its pitch; hum and rumble below half of it are left out.
    not_before_s : float
        Where the note before it ends.

    Returns
    -------
    float or None
        Seconds; None where the note does not rise out of silence: it follows another without a
        rest, or the room is within 15 dB of it.
    """
    start = max(0.0, not_before_s, stretch.start_s - _BEFORE_S)
    part = _without_rumble(sound.part(start, stretch.end_s), hz)
    power = envelope(part, hz)
    room = _room(power, part.rate, stretch.start_s - start)
    held = stretch.settled()
    begin, end = (round((at - start) * part.rate) for at in (held.start_s, held.end_s))
    steady = float(np.median(power[begin:end])) - room if end > begin else 0.0
    if steady <= 0 or room > _ROOM_BELOW * steady:
        return None
    level = np.sqrt(np.maximum(power - room, 0.0) / steady)
    return _rise(level, part.rate)


def _without_rumble(sound: Sound, hz: float) -> Sound:
    high_pass = butter(2, min(hz / 2, 0.45 * sound.rate), "highpass", fs=sound.rate, output="sos")
    flat = sound.samples - (sound.samples.mean() if len(sound.samples) else 0.0)
    return Sound(np.asarray(sosfilt(high_pass, flat), dtype=np.float64), sound.rate)


def _room(power: Samples, rate: int, before_s: float) -> float:
    """Return the power of the quietest hundredth of a second before the note."""
    size = round(_ROOM_S * rate)
    whole = len(power[: round(before_s * rate)]) // size
    if whole < 1:
        return 0.0
    return float(power[: whole * size].reshape(whole, size).mean(axis=1).min())


def _rise(level: Samples, rate: int) -> float | None:
    above = np.flatnonzero(level >= HIGH)
    if not len(above):
        return None
    below = np.flatnonzero(level[: above[0]] < LOW)
    if not len(below):
        return None
    begin = _crossing(level, int(below[-1]) + 1, LOW)
    return (_crossing(level, int(above[0]), HIGH) - begin) / rate


def _crossing(level: Samples, after: int, share: float) -> float:
    """Return where between two samples a level is passed, in samples."""
    if after == 0:
        return 0.0
    low, high = level[after - 1], level[after]
    return float(after - (high - share) / (high - low))
