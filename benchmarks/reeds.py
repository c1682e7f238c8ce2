"""Reeds made up from numbers, what a workshop does to their sound, and the least error there is."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float64]
Track = Callable[[Samples], Samples]

RATE = 48_000
LOWEST_HZ, HIGHEST_HZ = 98.0, 3136.0
MOST_PARTIALS = 24
_WEAK_EVERY = 5


@dataclass(frozen=True, slots=True)
class Made:
    """A sound, the mean pitch in it, and the least standard deviation of it, in cents."""

    samples: Samples
    hz: float
    bound: float


@dataclass(frozen=True, slots=True)
class Disturbance:
    """What happens to a sound: the pitch's way in cents over -1/2 to 1/2 s, and what is added."""

    name: str
    track: Track
    spoil: Callable[[Samples, float, np.random.Generator], Samples]


def make(
    rng: np.random.Generator,
    number: int,
    seconds: float,
    snr_db: float,
    *,
    disturbed: Disturbance | None = None,
    lowest: float = LOWEST_HZ,
    highest: float = HIGHEST_HZ,
) -> Made:
    """Make one reed; every fifth has a fundamental that is all but missing."""
    hz = float(np.exp(rng.uniform(np.log(lowest), np.log(highest))))
    n = round(seconds * RATE)
    track = hz * 2 ** ((disturbed or disturbances()[0]).track(np.arange(n) / RATE) / 1200)
    parts = partials(rng, hz, weak=number % _WEAK_EVERY == 0)
    noise = float(np.sqrt(np.sum(parts**2) / 2 / 10 ** (snr_db / 10)))
    heard = _sounding(track, parts, rng) + rng.normal(0, noise, n)
    if disturbed:
        heard = disturbed.spoil(heard, hz, rng)
    h = np.arange(1, len(parts) + 1)
    variance = 24 * noise**2 / (n * (n**2 - 1.0) * np.sum((h * parts) ** 2))
    bound = 1200 / np.log(2) * np.sqrt(variance) * RATE / (2 * np.pi) / hz
    mean = float(track[len(track) - len(heard) :].mean())
    return Made(0.3 * heard / np.abs(heard).max(), mean, float(bound))


def partials(rng: np.random.Generator, hz: float, *, weak: bool = False) -> Samples:
    """Return amplitudes that fall off unevenly, as a free reed's do."""
    h = np.arange(1, max(1, min(MOST_PARTIALS, int(0.45 * RATE / hz))) + 1)
    parts = h ** -rng.uniform(0.5, 1.3) * np.exp(rng.normal(0, 0.5, len(h)))
    if weak and len(h) > 2:
        parts[0] *= 0.05
    return np.asarray(parts)


def _sounding(track: Samples, parts: Samples, rng: np.random.Generator) -> Samples:
    # Midway between samples, so that the mean of the track is what the phase shows.
    turn = np.exp(2j * np.pi * (np.cumsum(track) - track / 2) / RATE)
    now, found = np.ones_like(turn), np.zeros(len(track))
    for part in parts:
        now = now * turn
        found += np.real(now * part * np.exp(1j * rng.uniform(0, 2 * np.pi)))
    return found


def disturbances() -> list[Disturbance]:
    """Return what a workshop does to a sound, nothing first."""
    return [
        Disturbance("nothing", _still, _alone),
        Disturbance("glide of 4 cents", lambda t: 4 * (t / t[-1] - 0.5), _alone),
        Disturbance("curve of 1 cent", lambda t: 4 * (t / t[-1] - 0.5) ** 2, _alone),
        Disturbance("tremor of 2 cents", lambda t: 2 * np.sin(2 * np.pi * 5.3 * t), _alone),
        Disturbance("tremor of 5 cents", lambda t: 5 * np.sin(2 * np.pi * 5.3 * t), _alone),
        Disturbance("clipping", _still, lambda x, _hz, _rng: np.clip(x, -np.std(x), np.std(x))),
        Disturbance("hum at -10 dB", _still, _hum),
        Disturbance("a click", _still, _click),
        Disturbance("echo", _still, _echo),
        Disturbance("a second reed at -20 dB", _still, _second),
    ]


def cells() -> Iterator[tuple[float, int]]:
    """Give seconds and SNR in dB."""
    for seconds in (0.1, 0.2, 0.5, 1.0, 2.0):
        for snr in (0, 10, 20, 40):
            yield seconds, snr


def _still(t: Samples) -> Samples:
    return np.zeros_like(t)


def _alone(x: Samples, _hz: float, _rng: np.random.Generator) -> Samples:
    return x


def _hum(x: Samples, _hz: float, rng: np.random.Generator) -> Samples:
    t = np.arange(len(x)) / RATE
    turn = rng.uniform(0, 2 * np.pi)
    return x + np.std(x) * np.sqrt(0.2) * np.cos(2 * np.pi * 50 * t + turn)


def _click(x: Samples, _hz: float, rng: np.random.Generator) -> Samples:
    spoilt, at = x.copy(), int(rng.integers(len(x) // 4, 3 * len(x) // 4))
    spoilt[at : at + 40] += 5 * np.abs(x).max() * rng.normal(size=40)
    return spoilt


def _echo(x: Samples, _hz: float, _rng: np.random.Generator) -> Samples:
    spoilt = x.copy()
    for delay_s, share in ((0.021, 0.4), (0.047, 0.2)):
        late = round(delay_s * RATE)
        spoilt[late:] += share * x[:-late]
    return spoilt[round(0.05 * RATE) :]


def _second(x: Samples, hz: float, rng: np.random.Generator) -> Samples:
    other = np.full(len(x), hz * 2 ** (rng.uniform(-20, 20) / 1200))
    beside = _sounding(other, partials(rng, hz), rng)
    return x + 0.1 * beside * np.std(x) / np.std(beside)
