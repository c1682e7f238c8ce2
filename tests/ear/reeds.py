"""Reeds made up from numbers, so that the truth is known exactly."""

import numpy as np

RATE = 48_000


def cents(hz, true_hz):
    return 1200 * np.log2(hz / true_hz)


def amplitudes(rng, hz, rate=RATE, *, weak=False):
    """Return partials that fall off unevenly, as a free reed's do; the first all but missing."""
    count = max(1, min(24, int(0.45 * rate / hz)))
    h = np.arange(1, count + 1)
    found = h ** -rng.uniform(0.5, 1.3) * np.exp(rng.normal(0, 0.5, count))
    if weak and count > 2:
        found[0] *= 0.05
    return found


def reed(hz, seconds, *, rng, snr_db=30.0, rate=RATE, weak=False, moves=None, parts=None):
    """Return one reed in white noise, its level 0.1, and the true mean frequency.

    `moves` gives cents from `hz` at every moment; snr_db None leaves the noise out.
    """
    t = np.arange(round(seconds * rate)) / rate
    track = hz * 2 ** ((np.zeros_like(t) if moves is None else moves(t)) / 1200)
    phase = 2 * np.pi * (np.cumsum(track) - track / 2) / rate
    parts = amplitudes(rng, hz, rate, weak=weak) if parts is None else np.asarray(parts, float)
    sound = sum(
        a * np.cos(h * phase + rng.uniform(0, 2 * np.pi)) for h, a in enumerate(parts, start=1)
    )
    power = np.sum(parts**2) / 2
    if snr_db is not None:
        sound = sound + rng.normal(0, np.sqrt(power / 10 ** (snr_db / 10)), len(t))
    return 0.1 * sound / np.sqrt(power), float(track.mean())


def bound_cents(hz, seconds, parts, snr_db, rate=RATE):
    """Return the least standard deviation there can be. Source: [christensen-jakobsson]."""
    n = round(seconds * rate)
    noise = np.sum(np.square(parts)) / 2 / 10 ** (snr_db / 10)
    h = np.arange(1, len(parts) + 1)
    variance = 24 * noise / (n * (n**2 - 1) * np.sum(h**2 * np.square(parts)))
    return 1200 / np.log(2) * np.sqrt(variance) * rate / (2 * np.pi) / hz
