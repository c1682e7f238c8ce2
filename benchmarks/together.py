"""Two and three reeds at once against the least error there can be, and lone reeds taken for two.

    python -m benchmarks.together [--sounds 20]

Each case holds so many made-up sounds of half a second at 20 dB: how many reeds were missed or
wrong, the beats' error over the bound (Fisher's information on all numbers of all reeds), how often
the stated errors cover the true ones, and processor seconds a sound. Lone reeds stand below, at
15 to 45 dB, under what a breath and a room do to them. Goals stand beside.
"""

import argparse
import os
import time
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from benchmarks.reeds import disturbances
from combwright.ear.believing import NoReeds
from combwright.ear.partials import partials_below
from combwright.ear.sound import Sound
from combwright.ear.together import Together, read_together

Samples = NDArray[np.float64]
Notes = Callable[[np.random.Generator], list[float]]
RATE, SECONDS, SNR_DB = 48_000, 0.5, 20.0
GOAL = 1.2
_LOWEST_HZ = 130.0
_WRONG_CENTS = 3.0
#: What is spoilt so much that no reading is promised, and what does hold a second reed.
_LEFT_OUT = ("clipping", "a second reed at -20 dB")


def main(arguments: list[str] | None = None) -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sounds", type=int, default=20, help="how many sounds in each case")
    asked = parser.parse_args(arguments)
    print(f"\nReeds together: {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start")
    print(f"{'':>22} {'missed':>7} {'wrong':>6} {'error/bound':>12} {'68 %':>5} {'95 %':>5}  CPU")
    for name, notes in cases():
        print(_case(name, notes, asked.sounds))
    print("\nLone reeds taken for two (goal: none), and refused")
    for line in _lone(asked.sounds):
        print(line)


def cases() -> Iterator[tuple[str, Notes]]:
    """Give each case's name and how its notes are drawn."""
    yield "unison, 0.2 to 5 Hz", lambda rng: _unison(rng, _low(rng, 2000))
    yield "octave, 1 to 10 cents", lambda rng: _octave(rng, _low(rng, 1500))
    yield "chord 4:5:6", lambda rng: _chord(rng, _low(rng, 1190), (1, 5 / 4, 3 / 2))
    yield (
        "chord, equal",
        lambda rng: _chord(rng, _low(rng, 1190), (1, 2 ** (4 / 12), 2 ** (7 / 12))),
    )


def _low(rng: np.random.Generator, highest: float) -> float:
    return float(np.exp(rng.uniform(np.log(_LOWEST_HZ), np.log(highest))))


def _unison(rng: np.random.Generator, hz: float) -> list[float]:
    return [hz, hz + float(np.exp(rng.uniform(np.log(0.2), np.log(5))))]


def _octave(rng: np.random.Generator, hz: float) -> list[float]:
    return [hz, 2 * hz * 2 ** float(rng.choice([-1, 1]) * rng.uniform(1, 10) / 1200)]


def _chord(rng: np.random.Generator, hz: float, steps: tuple[float, ...]) -> list[float]:
    return [hz * step * 2 ** float(rng.normal(0, 1) / 1200) for step in steps]


def _case(name: str, notes: Notes, sounds: int) -> str:
    rng = np.random.default_rng(len(name))
    missed = wrong = 0
    ratios: list[float] = []
    stated: list[float] = []
    spent = 0.0
    for _ in range(sounds):
        hz = notes(rng)
        sound, bound = _sound(rng, hz)
        start = time.process_time()
        try:
            heard = read_together(Sound(sound, RATE), len(hz))
        except NoReeds:
            missed += 1
            continue
        spent += time.process_time() - start
        if len(heard.voices) < len(hz):
            missed += 1
        elif any(abs(c) > _WRONG_CENTS for c in _cents(heard, hz)):
            wrong += 1
        else:
            ratios += _beats_over_bound(heard, hz, bound)
            stated += [c / v.sd_cents for c, v in zip(_cents(heard, hz), heard.voices, strict=True)]
    ratio = float(np.sqrt(np.mean(np.square(ratios)))) if ratios else float("nan")
    met = "met" if ratio <= GOAL and not missed + wrong else "NOT met"
    one, two = (float(np.mean(np.abs(stated) < times)) for times in (1.0, 1.96))
    return (
        f"{name:>22} {missed:7d} {wrong:6d} {ratio:12.2f} {one:5.2f} {two:5.2f} "
        f"{spent / sounds:4.2f}  goal none, {GOAL}: {met}"
    )


def _cents(heard: Together, hz: list[float]) -> list[float]:
    pairs = zip(heard.voices, hz, strict=True)
    return [float(1200 * np.log2(voice.hz / true)) for voice, true in pairs]


def _beats_over_bound(heard: Together, hz: list[float], bound: Samples) -> list[float]:
    found = []
    for n, beat in enumerate(heard.beats):
        by = np.zeros(len(hz))
        by[n], by[n + 1] = -beat.of_lower, beat.of_upper
        found.append(float((beat.hz - abs(by @ np.array(hz))) / np.sqrt(by @ bound @ by)))
    return found


def _parts(rng: np.random.Generator, hz: float) -> Samples:
    h = np.arange(1, partials_below(hz, RATE) + 1)
    parts = h ** -rng.uniform(0.5, 1.3) * np.exp(rng.normal(0, 0.5, len(h)))
    return np.asarray(parts / np.linalg.norm(parts) * 10 ** (rng.uniform(-3, 3) / 20))


def _sound(rng: np.random.Generator, hz: list[float]) -> tuple[Samples, Samples]:
    """Return reeds at once under a slope of up to 3 cents a second, and the bound."""
    t = (np.arange(round(SECONDS * RATE)) + 0.5) / RATE - SECONDS / 2
    bent = t + rng.uniform(-3, 3) * np.log(2) / 1200 * (t**2 - (SECONDS / 2) ** 2) / 2
    known, moved, sound = [], [], np.zeros(len(t))
    power = 0.0
    for f in hz:
        parts = _parts(rng, f)
        turns = rng.uniform(0, 2 * np.pi, len(parts))
        power += float(np.sum(parts**2) / 2)
        moved.append(np.zeros(len(t)))
        for h, (a, turn) in enumerate(zip(parts, turns, strict=True), start=1):
            angle = 2 * np.pi * h * f * bent + turn
            sound += a * np.cos(angle)
            known += [np.cos(angle), np.sin(angle)]
            moved[-1] -= a * h * np.sin(angle)
    noise = np.sqrt(power / 10 ** (SNR_DB / 10))
    half = SECONDS / 2
    whole = sum(f / hz[0] * each for f, each in zip(hz, moved, strict=True))
    asked = np.array([*(each * t / half for each in moved), whole * ((t / half) ** 2 - 1) / 2])
    rows = np.array(known)
    shared = rows @ asked.T
    inner = asked @ asked.T - shared.T @ np.linalg.solve(rows @ rows.T, shared)
    bound = noise**2 * np.linalg.inv(inner)[: len(hz), : len(hz)] / (2 * np.pi * half) ** 2
    return 0.1 * (sound + rng.normal(0, noise, len(t))), bound


def _lone(sounds: int) -> Iterator[str]:
    for each in disturbances():
        name = each.name
        if name in _LEFT_OUT:
            continue
        rng = np.random.default_rng(len(name))
        two = refused = 0
        for _ in range(sounds):
            hz = float(np.exp(rng.uniform(np.log(98), np.log(3136))))
            t = np.arange(round((SECONDS + 0.1) * RATE)) / RATE
            turn = 2 * np.pi * np.cumsum(hz * 2 ** (each.track(t) / 1200)) / RATE
            parts = _parts(rng, hz)
            tone = sum(
                a * np.cos(h * turn + rng.uniform(0, 6.3)) for h, a in enumerate(parts, start=1)
            )
            noise = np.sqrt(np.sum(parts**2) / 2) * 10 ** (-rng.choice([15, 20, 30, 45]) / 20)
            heard = each.spoil(np.asarray(tone) + rng.normal(0, noise, len(t)), hz, rng)
            try:
                two += len(read_together(Sound(0.1 * heard, RATE), 2).voices) > 1
            except NoReeds:
                refused += 1
        yield f"{name:>22} {two:7d} of {sounds}, {refused} refused"


if __name__ == "__main__":
    main()
