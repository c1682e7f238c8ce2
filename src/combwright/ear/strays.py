"""What the partials of a reed say against one another: noise that is not white, a second reed.

If the partials are one reed's, each turns its whole multiple of the fundamental's turns. By how
much they do not, frame by frame, is the noise where the reed sounds, whatever it is elsewhere; and
where they drift apart in the course of the stretch, something else sounds beside them.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from combwright.ear.frames import Frames, Phases

#: How many independent values the noise between the partials counts for.
_KNOWN: Final = 10.0
_LUCK: Final = 2.0


@dataclass(frozen=True, slots=True)
class Strays:
    """What is found.

    Parameters
    ----------
    noise : float
        By how much the noise's power at the partials is that between them.
    drift : float
        Variance of the mean's radians a second, beyond what noise gives.
    """

    noise: float
    drift: float


def strays_of(frames: Frames, phases: Phases) -> Strays:
    """Weigh what the partials say against one another."""
    order = np.arange(1, len(phases.lines) + 1)
    powers = (order * np.abs(phases.lines)) ** 2
    share = powers / powers.sum()
    count = phases.strays.shape[1]
    # One partial alone has nothing to be compared with.
    free = 1 - share
    if free.max() < 0.02 or count < 3 or len(share) < 2:
        return Strays(1.0, 0.0)
    each = phases.strays / order[:, None]
    at = frames.at_s - frames.at_s.mean()
    slopes = each @ at / (at @ at)
    left = each - each.mean(axis=1, keepdims=True) - slopes[:, None] * at
    expected = 2 * frames.noise / frames.samples / powers.sum()
    weights = share**2 / np.maximum(free, 0.02)
    seen = float(weights @ np.sum(left**2, axis=1)) / max(1, count - 2) / expected
    alike = float(share @ free) / float(np.sum(share**2 * free))
    known = max(1.0, alike - 1) * (count - 2)
    noise = (_KNOWN + known * seen) / (_KNOWN + known)
    drift = float(weights @ slopes**2)
    usual = noise * expected / float(at @ at)
    lucky = 1 + _LUCK * np.sqrt(2 / max(1.0, alike - 1))
    # A few partials know their own scatter badly: as much wider as Student's distribution is.
    wider = 1 + 1 / max(1.0, alike - 1)
    return Strays(noise, wider * max(0.0, drift - usual) if drift > lucky * usual else 0.0)
