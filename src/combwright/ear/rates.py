"""Two recordings brought to one rate, so that neither holds what the other cannot."""

from math import gcd

import numpy as np
from scipy.signal import resample_poly

from combwright.ear.sound import Sound


def at_rate(sound: Sound, rate: int) -> Sound:
    """Return a sound with so many samples a second; what the new rate cannot hold is filtered."""
    if sound.rate == rate:
        return sound
    shared = gcd(sound.rate, rate)
    samples = resample_poly(sound.samples, rate // shared, sound.rate // shared)
    return Sound(np.asarray(samples, dtype=np.float64), rate)
