"""Answers to made-up sounds, weighed against the truth."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from benchmarks.reeds import RATE, Disturbance, Made, make
from combwright.ear.readings import NoReed, read_reed
from combwright.ear.sound import Sound

WRONG_CENTS = 50.0


@dataclass(frozen=True, slots=True)
class Heard:
    """One answer: its error and the bound in cents, and what was stated of it."""

    error: float
    bound: float
    stated: float = float("nan")
    unsure: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """All answers to one kind of sound; None where there was no answer."""

    heard: Sequence[Heard | None]
    cpu: float

    @property
    def right(self) -> list[Heard]:
        """Those that are about the right note."""
        return [each for each in self.heard if each and abs(each.error) < WRONG_CENTS]

    @property
    def wrong(self) -> list[Heard]:
        """Those that are about another."""
        return [each for each in self.heard if each and abs(each.error) >= WRONG_CENTS]

    @property
    def rms(self) -> float:
        """The error of the right ones, in cents."""
        return _rms([each.error for each in self.right])

    @property
    def ratio(self) -> float:
        """Their error over the bound."""
        return _rms([each.error / each.bound for each in self.right])

    def covered(self, times: float) -> float:
        """Return the share whose error is within the stated one so many times."""
        inside = [abs(each.error) <= times * each.stated for each in self.right]
        return float(np.mean(inside)) if inside else float("nan")


def row(
    hear: Callable[[Made], Heard | None],
    tones: int,
    seconds: float,
    snr: float,
    disturbed: Disturbance | None = None,
) -> Row:
    """Ask for so many sounds of a kind, the same ones whoever is asked."""
    rng = np.random.default_rng(round(1000 * seconds + snr))
    found, spent = [], 0.0
    for number in range(tones):
        made = make(rng, number, seconds, snr, disturbed=disturbed)
        start = time.process_time()
        found.append(hear(made))
        spent += time.process_time() - start
    return Row(found, spent / (tones * seconds))


def read(made: Made) -> Heard | None:
    """Read a reed with the ear."""
    try:
        reading = read_reed(Sound(made.samples, RATE))
    except NoReed:
        return None
    error = float(1200 * np.log2(reading.hz / made.hz))
    return Heard(error, made.bound, reading.sd_cents, reading.unsure)


def asked(hear: Callable[..., float | None]) -> Callable[[Made], Heard | None]:
    """Return what asks somebody else for a made-up sound's pitch."""

    def heard(made: Made) -> Heard | None:
        hz = hear(made.samples, RATE)
        return Heard(float(1200 * np.log2(hz / made.hz)), made.bound) if hz else None

    return heard


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if values else float("nan")
