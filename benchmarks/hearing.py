"""The ear against the least error there can be, on made-up reeds whose truth is known.

    python -m benchmarks.hearing [--tones 60]

Each cell holds so many tones of 98 to 3,136 Hz, every fifth with a fundamental that is all but
missing: error over the bound [christensen-jakobsson], how often the stated error covers the true
one, notes taken for another, and processor seconds for a second of sound. Goals stand beside.
"""

import argparse
import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combwright.ear.readings import NoReed, read_reed
from combwright.ear.sound import Sound

Samples = NDArray[np.float64]
Track = Callable[[Samples], Samples]

RATE = 48_000
LOWEST_HZ, OCTAVES = 98.0, 5.0
SECONDS, SNR_DB = (0.1, 0.2, 0.5, 1.0), (0, 10, 20, 40)
#: From here on errors are to stay within 1.2 of the bound, and notes are to be told right.
GOAL, FROM_DB = 1.2, 10
TREMBLING_GOAL_CENTS = 0.02
_WRONG_CENTS = 50.0


@dataclass(frozen=True, slots=True)
class Measured:
    """One reading against the truth: its error, the stated one, and the bound, in cents."""

    error: float
    stated: float
    bound: float
    unsure: bool


def main(arguments: list[str] | None = None) -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tones", type=int, default=60, help="how many tones in each cell")
    asked = parser.parse_args(arguments)
    print(f"\nThe ear: {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start")
    print(f"{'sound':>7} {'SNR':>6} {'error/bound':>12} {'68 %':>5} {'95 %':>5} {'wrong':>6}  CPU")
    for seconds in SECONDS:
        for snr in SNR_DB:
            print(_cell(seconds, snr, asked.tones))
    print(f"\nA second of it, 20 dB, disturbed{'':>7} {'error':>9} {'stated':>8} {'68 %':>5} 95 %")
    for name, track, spoil in disturbances():
        print(_disturbed(name, track, spoil, asked.tones))


def _cell(seconds: float, snr: float, tones: int) -> str:
    rng = np.random.default_rng(round(1000 * seconds + snr))
    start = time.process_time()
    found = [_one(rng, n, seconds, snr) for n in range(tones)]
    spent = (time.process_time() - start) / (tones * seconds)
    there = [each for each in found if each is not None]
    right = [each for each in there if abs(each.error) < _WRONG_CENTS]
    wrong = len(there) - len(right)
    flagged = sum(each.unsure for each in there if abs(each.error) >= _WRONG_CENTS)
    ratio = _rms([each.error / each.bound for each in right])
    goal = ""
    if snr >= FROM_DB:
        met = ratio <= GOAL and wrong == flagged
        goal = f"  goal {GOAL}: {'met' if met else 'NOT met'}"
    none = f", {len(found) - len(there)} refused" if len(found) > len(there) else ""
    return (
        f"{seconds:5.1f} s {snr:3.0f} dB {ratio:12.2f} {_covered(right, 1):5.2f}"
        f" {_covered(right, 2):5.2f} {wrong:6d} {spent:5.2f}{goal}{none}"
    )


def disturbances() -> Iterator[
    tuple[str, Track, Callable[[Samples, np.random.Generator], Samples]]
]:
    """Give what a workshop does to a sound: its name, the pitch's way in cents, and the rest."""
    for name, track in (
        ("nothing", _still),
        ("glide of 4 cents", lambda t: 4 * (t - t.mean())),
        ("curve of 1 cent", lambda t: 4 * (t - t.mean()) ** 2),
        ("tremor of 2 cents", lambda t: 2 * np.sin(2 * np.pi * 5.3 * t)),
        ("tremor of 5 cents", lambda t: 5 * np.sin(2 * np.pi * 5.3 * t)),
    ):
        yield name, track, lambda x, _rng: x
    yield "clipping", _still, lambda x, _rng: np.clip(x, -np.std(x), np.std(x))
    yield "hum at -10 dB", _still, _hum
    yield "a click", _still, _click
    yield "echo", _still, _echo


def _still(t: Samples) -> Samples:
    return np.zeros_like(t)


def _hum(x: Samples, rng: np.random.Generator) -> Samples:
    t = np.arange(len(x)) / RATE
    turn = rng.uniform(0, 2 * np.pi)
    return x + np.std(x) * np.sqrt(0.2) * np.cos(2 * np.pi * 50 * t + turn)


def _click(x: Samples, rng: np.random.Generator) -> Samples:
    spoilt, at = x.copy(), int(rng.integers(len(x) // 4, 3 * len(x) // 4))
    spoilt[at : at + 40] += 5 * np.abs(x).max() * rng.normal(size=40)
    return spoilt


def _echo(x: Samples, _rng: np.random.Generator) -> Samples:
    spoilt = x.copy()
    for delay_s, share in ((0.021, 0.4), (0.047, 0.2)):
        late = round(delay_s * RATE)
        spoilt[late:] += share * x[:-late]
    return spoilt[round(0.05 * RATE) :]


def _disturbed(
    name: str, track: Track, spoil: Callable[[Samples, np.random.Generator], Samples], tones: int
) -> str:
    rng = np.random.default_rng(5)
    found = [_one(rng, n, 1.0, 20.0, track, spoil) for n in range(tones)]
    there = [each for each in found if each is not None]
    error, stated = _rms([each.error for each in there]), np.median([e.stated for e in there])
    goal = ""
    if name.startswith("tremor"):
        met = "met" if error <= TREMBLING_GOAL_CENTS else "NOT met"
        goal = f"  goal {TREMBLING_GOAL_CENTS}: {met}"
    return (
        f"{name:>38} {error:9.4f} {stated:8.4f} {_covered(there, 1):5.2f} {_covered(there, 2):.2f}"
        f"{goal}"
    )


def _one(
    rng: np.random.Generator,
    n: int,
    seconds: float,
    snr: float,
    track: Track = _still,
    spoil: Callable[[Samples, np.random.Generator], Samples] = lambda x, _rng: x,
) -> Measured | None:
    hz = LOWEST_HZ * 2 ** rng.uniform(0, OCTAVES)
    t = np.arange(round(seconds * RATE)) / RATE
    way = hz * 2 ** (track(t) / 1200)
    parts = _parts(rng, hz, weak=n % 5 == 0)
    phase = 2 * np.pi * np.cumsum(way) / RATE
    tone = sum(a * np.cos(h * phase + rng.uniform(0, 6.3)) for h, a in enumerate(parts, start=1))
    noise = np.sqrt(np.sum(parts**2) / 2 / 10 ** (snr / 10))
    heard = spoil(tone + rng.normal(0, noise, len(t)), rng)
    h = np.arange(1, len(parts) + 1)
    variance = 24 * noise**2 / (len(t) * (len(t) ** 2 - 1) * np.sum((h * parts) ** 2))
    bound = 1200 / np.log(2) * np.sqrt(variance) * RATE / (2 * np.pi) / hz
    try:
        read = read_reed(Sound(0.3 * heard / np.abs(heard).max(), RATE))
    except NoReed:
        return None
    error = float(1200 * np.log2(read.hz / way[-len(heard) :].mean()))
    return Measured(error, read.sd_cents, float(bound), read.unsure)


def _parts(rng: np.random.Generator, hz: float, *, weak: bool) -> Samples:
    h = np.arange(1, max(1, min(24, int(0.45 * RATE / hz))) + 1)
    parts = h ** -rng.uniform(0.5, 1.3) * np.exp(rng.normal(0, 0.5, len(h)))
    if weak and len(h) > 2:
        parts[0] *= 0.05
    return np.asarray(parts)


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if values else float("nan")


def _covered(found: list[Measured], times: float) -> float:
    inside = [abs(each.error) <= times * each.stated for each in found]
    return float(np.mean(inside)) if inside else float("nan")


if __name__ == "__main__":
    main()
