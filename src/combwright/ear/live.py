"""Readings while the reed sounds: blocks of any size go in, glances come out.

A glance is taken every 25 ms, and every 50 ms once a note has settled; at whole multiples of that
from the start and from nothing but the sound before it, so blocks of any size, and a file in one
piece, give the same glances.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from combwright.ear.finding import find, sharpen
from combwright.ear.partials import fit
from combwright.ear.sound import Samples, level_db
from combwright.ear.threads import one_thread

HOP_S: Final = 0.025
#: A settled note is looked at every so many hops.
_CALM: Final = 2
_WINDOW_S: Final = 0.1
#: So much of a note must have sounded before its first glance.
_FIRST_S: Final = 0.05
SETTLED_S: Final = 0.2
_LEAST_SCORE: Final = 9.0
_SAME_CENTS: Final = 40.0
_AGREE_CENTS: Final = 1.0
_PARTIALS: Final = 12
_ONSET_STEP_S: Final = 0.01
_MOST_KEPT: Final = 200
#: So many of the last glances, a second of them, tell how steady a note is.
_STEADY: Final = 20


@dataclass(frozen=True, slots=True)
class Band:
    """The level of breath at which targets are defined, in decibels of full scale."""

    low_db: float = -40.0
    high_db: float = -6.0

    def holds(self, level: float) -> bool:
        """Tell whether a level lies in the band."""
        return self.low_db <= level <= self.high_db


@dataclass(frozen=True, slots=True)
class Glance:
    """What is heard at one moment.

    Parameters
    ----------
    at_s : float
        Since the first sample.
    level_db : float
        Of the last tenth of a second.
    hz, sd_cents : float or None
        None while nothing sounds. Once settled, the mean of the glances since and its error.
    settled : bool
        Whether the note has stood for 0.2 s and the last glances agree to a cent.
    in_band : bool
        Whether the breath is one at which targets are defined; others are shown, not kept.
    unsure : bool
        Whether another note, an octave above all, does almost as well.
    spread_cents : float
        How far single glances of the note stray: the unsteadiness of breath and reed.
    """

    at_s: float
    level_db: float
    hz: float | None = None
    sd_cents: float | None = None
    settled: bool = False
    in_band: bool = False
    unsure: bool = False
    spread_cents: float = 0.0


class Listener:
    """One microphone, listened to block by block.

    Parameters
    ----------
    rate : int
        Samples a second.
    band : Band
        Of breath.
    gate_db : float
        Below this level nothing sounds.
    """

    def __init__(self, rate: int, *, band: Band | None = None, gate_db: float = -50.0) -> None:
        self.rate = rate
        self.band = band or Band()
        self.gate_db = gate_db
        self._held: Samples = np.zeros(0)
        self._before = 0
        self._glances = 0
        self._onset = 0
        self._note: list[tuple[float, float, float]] = []
        self._settled = False

    def hear(self, block: Samples) -> Iterator[Glance]:
        """Take a block of samples and yield the glances that it completes."""
        self._held = np.concatenate([self._held, np.asarray(block, dtype=np.float64)])
        while True:
            end = round((self._glances + 1) * HOP_S * self.rate)
            if end > self._before + len(self._held):
                break
            self._glances += 1
            if self._settled and self._glances % _CALM:
                continue
            start = max(0, end - round(_WINDOW_S * self.rate))
            window = self._held[max(0, start - self._before) : end - self._before]
            with one_thread():
                glance = self._glance(window, end)
            self._settled = glance.settled
            self._forget(end)
            yield glance

    def _forget(self, end: int) -> None:
        spare = end - round(_WINDOW_S * self.rate) - self._before
        if spare > 0:
            self._held = self._held[spare:]
            self._before += spare

    def _glance(self, window: Samples, end: int) -> Glance:
        at, level = end / self.rate, level_db(window)
        silent = self._silent_until(window, end)
        if silent is not None:
            self._onset, self._note = silent, []
        since = end - self._onset
        if since < _FIRST_S * self.rate:
            return Glance(at, level)
        part = window[-min(len(window), since) :]
        found = find(part, self.rate)
        if not found.heard(_LEAST_SCORE):
            self._note = []
            return Glance(at, level)
        start = sharpen(part, self.rate, found.hz, found.partials + 1, within_cents=12.0)
        fitted = fit(part, self.rate, start, partials=_PARTIALS)
        sd = 1200 / np.log(2) * fitted.sd_hz / fitted.hz
        if self._note and abs(_cents(fitted.hz, self._note[-1][1])) > _SAME_CENTS:
            self._note, self._onset = [], end - len(part) // 2
        self._note = [*self._note[-_MOST_KEPT:], (at, fitted.hz, float(sd))]
        hz, error, settled = self._mean(at)
        good = self.band.holds(level)
        strays = _spread(self._note[-_STEADY:])
        return Glance(at, level, hz, error, settled, good, found.doubtful, strays)

    def _silent_until(self, window: Samples, end: int) -> int | None:
        """Return where in the window the last quiet moment ends, if there is one."""
        step = round(_ONSET_STEP_S * self.rate)
        for back in range(0, len(window) - step + 1, step):
            if level_db(window[len(window) - back - step : len(window) - back]) < self.gate_db:
                return end - back
        return None

    def _mean(self, at: float) -> tuple[float, float, bool]:
        """Return the note's pitch, its error, and whether it has settled."""
        _, hz, sd = self._note[-1]
        lasted = at - self._onset / self.rate
        stood = [each for each in self._note if each[0] >= self._onset / self.rate + SETTLED_S]
        agree = len(self._note) > 2 and _spread(self._note[-3:]) < max(_AGREE_CENTS, 3 * sd)
        if lasted < SETTLED_S or not stood or not agree:
            return hz, max(sd, _spread(self._note[-3:])), False
        # A microphone that loses a few samples spoils a glance or two; the middle one stays true.
        mean = float(np.median([each[1] for each in stood]))
        # Windows of settled glances overlap by half: there are half as many readings as glances.
        strays = _spread(stood) if len(stood) > 2 else max(sd, _spread(self._note[-2:]))
        return mean, max(sd, strays) / max(1.0, len(stood) / 2) ** 0.5, True


def _cents(hz: float, other: float) -> float:
    return float(1200 * np.log2(hz / other))


def _spread(glances: Sequence[tuple[float, float, float]]) -> float:
    if len(glances) < 2:
        return 0.0
    return float(np.std([_cents(hz, glances[0][1]) for _, hz, _ in glances], ddof=1))
