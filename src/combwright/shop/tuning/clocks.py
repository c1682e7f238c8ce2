"""How far a microphone's clock is off, and what that does to pitch.

A device whose clock runs fast takes more samples in a second than it says, and so makes everything
sound low by as many millionths. Sound cards stay within some 50 millionths (common practice, no
source).
"""

import math
from dataclasses import dataclass
from typing import Final

from combwright.shop.tuning.models import Microphone

#: The standard deviation taken for a clock that was never held against a known tone.
TYPICAL_PPM: Final = 50.0
_CENTS_A_PPM: Final = 1200 / math.log(2) * 1e-6


@dataclass(frozen=True, slots=True)
class Clock:
    """A microphone's clock.

    Parameters
    ----------
    ppm : float
        How fast it runs, in millionths; what is heard is too low by as much.
    sd_ppm : float
        The standard error of that.
    known : bool
        Whether it was held against a known tone.
    """

    ppm: float = 0.0
    sd_ppm: float = TYPICAL_PPM
    known: bool = False

    @property
    def sd_cents(self) -> float:
        """The standard error in cents; the same for every pitch, and none between two of them."""
        return self.sd_ppm * _CENTS_A_PPM

    @property
    def cents(self) -> float:
        """What is added to every pitch, in cents."""
        return self.ppm * _CENTS_A_PPM

    def true(self, hz: float) -> float:
        """Return the pitch that was there when `hz` was heard."""
        return hz * (1 + self.ppm * 1e-6)


def clock_of(microphone: Microphone | None) -> Clock:
    """Return a microphone's clock; the typical one where nothing is known of it."""
    if microphone is None or microphone.ppm is None or microphone.sd_ppm is None:
        return Clock()
    return Clock(microphone.ppm, microphone.sd_ppm, known=True)


def clock_from(tone_hz: float, heard_hz: float, sd_cents: float) -> Clock:
    """Return the clock of a microphone that heard a known tone.

    Parameters
    ----------
    tone_hz : float
        What the tone was.
    heard_hz, sd_cents : float
        What was heard without any correction, and its standard error.
    """
    return Clock((tone_hz / heard_hz - 1) * 1e6, sd_cents / _CENTS_A_PPM, known=True)
