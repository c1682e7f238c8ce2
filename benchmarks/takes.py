"""Takes of a whole instrument: notes missed, made up, or given to the wrong seat.

    python -m benchmarks.takes [--notes 2000]

Each take plays the twenty seats of the standard layout in order, every reed up to 20 cents off,
with rests of up to 0.2 s between; one note has a false start before it, one is played twice. The
noise is 15 dB below the reeds. A note given to the wrong seat must be marked unsure.
"""

import argparse
import time
from dataclasses import dataclass, field

import numpy as np

from benchmarks.reeds import RATE, Samples, partials
from combwright.comb.catalogue import catalogue_layout
from combwright.ear.sound import Sound
from combwright.ear.takes import Target, hear_take
from combwright.notes.pitch import hertz

SNR_DB = 15.0
_OFF_CENTS, _LEVEL, _NOTE_S, _START_S, _EDGE_S = 20.0, 0.1, (0.4, 0.9), 0.12, 0.02
_SAME_CENTS = 5.0


@dataclass(slots=True)
class Counted:
    """What came of all takes."""

    notes: int = 0
    missed: int = 0
    extra: int = 0
    wrong: int = 0
    flagged: int = 0
    seconds: float = 0.0
    spent: float = 0.0
    errors: list[float] = field(default_factory=list)


def main(arguments: list[str] | None = None) -> None:
    """Print what came of all takes, the goal beside."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--notes", type=int, default=2000, help="how many, twenty to a take")
    tell(parser.parse_args(arguments).notes)


def tell(notes: int, seed: int = 1) -> None:
    """Count, and print that beside the goals."""
    found = Counted()
    for number in range(max(1, notes // 20)):
        _one(np.random.default_rng([seed, number]), found)
    met = found.missed == found.extra == 0 and found.wrong == found.flagged
    print(
        f"\nTakes of twenty, {SNR_DB:.0f} dB: {found.notes} notes, {found.missed} missed,"
        f" {found.extra} extra, {found.wrong} to a wrong seat, {found.flagged} of these unsure;"
        f" off by {np.sqrt(np.mean(np.square(found.errors))):.4f} cents RMS,"
        f" {found.spent / found.seconds:.2f} CPU seconds a second;"
        f" goal none of each but what is marked: {'met' if met else 'NOT met'}",
        flush=True,
    )


def _one(rng: np.random.Generator, found: Counted) -> None:
    layout = catalogue_layout("standard")
    seats = sorted(layout.seats, key=lambda seat: (seat.hole, seat.breath != "blow"))
    order = [Target(seat, float(hertz(seat.midi, 0.0, a4_hz=440))) for seat in seats]
    off = rng.uniform(-_OFF_CENTS, _OFF_CENTS, len(order))
    early, twice = rng.choice(len(order), 2, replace=False)
    parts, now, last = [np.zeros(RATE // 3)], RATE // 3, {}
    for place, target in enumerate(order):
        lengths = [float(rng.uniform(*_NOTE_S))] * (2 if place == twice else 1)
        for length in [_START_S, *lengths] if place == early else lengths:
            sound = _note(target.hz * 2 ** (off[place] / 1200), length, rng)
            last[target.seat] = now / RATE
            pause = round(
                rng.uniform(0.02 if len(lengths) > 1 or place == early else 0, 0.2) * RATE
            )
            parts += [sound, np.zeros(pause)]
            now += len(sound) + pause
    whole = np.concatenate([*parts, np.zeros(RATE // 3)])
    whole += rng.normal(0, _LEVEL / 10 ** (SNR_DB / 20), len(whole))
    begun = time.process_time()
    heard = hear_take(Sound(whole, RATE), order)
    found.spent += time.process_time() - begun
    found.seconds += len(whole) / RATE
    found.notes += len(order)
    found.missed += len(heard.missing)
    found.extra += sum(each.why not in _LEFT_OUT for each in heard.ignored)
    for place, target in enumerate(order):
        for note in heard.notes:
            if note.seat == target.seat:
                right = abs(note.stretch.start_s - last[target.seat]) < _NOTE_S[0] / 2
                found.wrong += not right
                found.flagged += not right and note.unsure
                if right:
                    found.errors.append(note.cents - off[place])


#: What each take is to leave out: its false start, and the first of what is played twice.
_LEFT_OUT = ("too short: a false start", "played again later")


def _note(hz: float, seconds: float, rng: np.random.Generator) -> Samples:
    t = np.arange(round(seconds * RATE)) / RATE
    turn, now, found = np.exp(2j * np.pi * hz * t), np.ones(len(t), complex), np.zeros(len(t))
    for part in partials(rng, hz):
        now = now * turn
        found += np.real(now * part * np.exp(1j * rng.uniform(0, 2 * np.pi)))
    edge = np.clip(np.minimum(t, t[::-1]) / _EDGE_S, 0, 1)
    return np.asarray(_LEVEL * found / np.std(found) * edge)


if __name__ == "__main__":
    main()
