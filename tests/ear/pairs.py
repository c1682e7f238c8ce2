"""Several reeds at once made up from numbers, and the least error that there can be."""

import numpy as np

from combwright.ear.partials import partials_below
from ear.reeds import RATE, amplitudes

LEVEL = 0.1


def voices(rng, hz, *, alike=False):
    """Return partials of each reed, of like loudness; of one timbre where they are a unison."""
    first = amplitudes(rng, hz[0])
    found = []
    for f in hz:
        parts = first * np.exp(rng.normal(0, 0.3, len(first))) if alike else amplitudes(rng, f)
        parts = parts[: partials_below(f, RATE)]
        found.append(parts / np.linalg.norm(parts) * 10 ** (rng.uniform(-3, 3) / 20))
    return found


def together(rng, hz, parts, seconds, *, snr_db=20.0, moves=None, swells=None):
    """Return reeds at once, and the bound's covariance of their frequencies in hertz squared."""
    t = np.arange(round(seconds * RATE)) / RATE
    bent = np.cumsum(2 ** ((np.zeros_like(t) if moves is None else moves(t)) / 1200)) / RATE
    turns = [rng.uniform(0, 2 * np.pi, len(each)) for each in parts]
    sound = np.zeros(len(t))
    for f, sizes, starts in zip(hz, parts, turns, strict=True):
        for h, (size, start) in enumerate(zip(sizes, starts, strict=True), start=1):
            sound += size * np.cos(2 * np.pi * h * f * bent + start)
    if swells is not None:
        sound *= swells(t)
    noise = np.sqrt(sum(np.sum(each**2) / 2 for each in parts) / 10 ** (snr_db / 10))
    bound = bound_hz2(hz, parts, turns, noise, len(t))
    return LEVEL * (sound + rng.normal(0, noise, len(t))), bound


def bound_hz2(hz, parts, turns, noise, size):
    """Return the inverse of Fisher's information on the frequencies: amplitudes, phases and one
    common slope are unknown too. One sinusoid's is [rife-boorstyn]'s (tested)."""
    half = size / RATE / 2
    t = (np.arange(size) - (size - 1) / 2) / RATE
    known, moved = [], []
    for f, sizes, starts in zip(hz, parts, turns, strict=True):
        moved.append(np.zeros(size))
        for h, (a, start) in enumerate(zip(sizes, starts, strict=True), start=1):
            angle = 2 * np.pi * h * f * (t - t[0] + 1 / RATE) + start
            known += [np.cos(angle), np.sin(angle)]
            moved[-1] -= a * h * np.sin(angle)
    whole = sum(f / hz[0] * each for f, each in zip(hz, moved, strict=True))
    asked = np.array([*(each * t / half for each in moved), whole * ((t / half) ** 2 - 1) / 2])
    known = np.array(known)
    shared = known @ asked.T
    inner = asked @ asked.T - shared.T @ np.linalg.solve(known @ known.T, shared)
    found = noise**2 * np.linalg.inv(inner)
    return found[: len(hz), : len(hz)] / (2 * np.pi * half) ** 2
