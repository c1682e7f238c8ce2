"""Where in a recording something sounds: stretches well above the room, split where the level dips.

Levels are taken in windows of 20 ms. Only what follows an onset by a quarter of a second is
measured where there is that much: until then the reed glides and the room fills.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from combwright.ear.sound import SILENT_DB, Samples, Sound

HOP_S: Final = 0.01
SETTLING_S: Final = 0.25
_WINDOW_S: Final = 0.02
#: How far below the loudest part a stretch still counts, and how far above the quietest it must be.
_BELOW_LOUD_DB: Final = 26.0
_ABOVE_QUIET_DB: Final = 8.0
_SHORTEST_S: Final = 0.04
_TAIL_S: Final = 0.05


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of a recording, in seconds from its start."""

    start_s: float
    end_s: float

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return self.end_s - self.start_s

    def settled(self) -> "Stretch":
        """Return the part after the onset and before the end, as far as there is enough of it."""
        skip = min(SETTLING_S, self.seconds / 2)
        tail = min(_TAIL_S, self.seconds / 10)
        return Stretch(self.start_s + skip, self.end_s - tail)


def levels(sound: Sound) -> Samples:
    """Return the level in decibels of full scale, every 10 ms, over 20 ms each."""
    hop, window = round(HOP_S * sound.rate), round(_WINDOW_S * sound.rate)
    total = np.concatenate([[0.0], np.cumsum(np.square(sound.samples))])
    starts = np.arange(0, max(1, len(sound.samples) - window + 1), hop)
    ends = np.minimum(starts + window, len(sound.samples))
    means = (total[ends] - total[starts]) / np.maximum(1, ends - starts)
    return np.asarray(10 * np.log10(np.maximum(means, 1e-20)), dtype=np.float64)


def stretches(sound: Sound) -> tuple[Stretch, ...]:
    """Return every stretch in which something sounds, in order."""
    level = levels(sound)
    loud, quiet = np.percentile(level, 98), np.percentile(level, 5)
    gate = max(loud - _BELOW_LOUD_DB, min(quiet + _ABOVE_QUIET_DB, loud - 6.0), SILENT_DB)
    sounding = np.concatenate([[False], level > gate, [False]])
    turns = np.flatnonzero(np.diff(sounding.astype(int)))
    found = (
        Stretch(float(a * HOP_S), float(min(b * HOP_S + _WINDOW_S / 2, sound.seconds)))
        for a, b in zip(turns[::2], turns[1::2], strict=True)
    )
    return tuple(each for each in found if each.seconds >= _SHORTEST_S)


def longest(sound: Sound) -> Stretch:
    """Return the longest stretch that sounds, or the whole recording where none stands out."""
    found = stretches(sound)
    return max(found, key=lambda each: each.seconds, default=Stretch(0.0, sound.seconds))
