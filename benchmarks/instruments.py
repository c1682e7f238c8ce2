"""Instruments made up from numbers and played, so that every difference between takes is known."""

import itertools
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from combwright.ear.sound import Sound

Samples = NDArray[np.float64]

RATE = 48_000
NOTE_S, REST_S, EDGE_S = 0.55, 0.15, 0.3


class Instrument:
    """Reeds with partials, cents, level and attack of their own, and breaths that stray around.

    Parameters
    ----------
    seats : mapping
        The MIDI note of each seat, in the order of playing.
    breath_db, breath_cents : float
        Standard deviation of level and pitch from breath to breath.
    """

    def __init__(
        self,
        seed: int,
        seats: Mapping[str, int],
        *,
        breath_db: float = 0.2,
        breath_cents: float = 0.3,
    ) -> None:
        self.rng = np.random.default_rng(seed)
        self.seats = dict(seats)
        self.breath_db, self.breath_cents = breath_db, breath_cents
        self.partials = {seat: self._partials(self.hz(seat)) for seat in seats}
        self.cents = {seat: float(self.rng.uniform(-8, 8)) for seat in seats}
        self.db = dict.fromkeys(seats, 0.0)
        self.attack_s = dict.fromkeys(seats, 0.03)
        self.tremor_cents = dict.fromkeys(seats, 0.0)
        self.tilt_db = 0.0

    def hz(self, seat: str) -> float:
        """Return the pitch that a seat should have."""
        return float(440 * 2 ** ((self.seats[seat] - 69) / 12))

    def _partials(self, hz: float) -> Samples:
        h = np.arange(1, max(2, min(16, int(9000 / hz))) + 1)
        return np.asarray(h**-1.0 * np.exp(self.rng.normal(0, 0.3, len(h))))

    def copy(self, seed: int) -> "Instrument":
        """Return the same instrument, to be played by other breaths."""
        other = Instrument(
            seed, self.seats, breath_db=self.breath_db, breath_cents=self.breath_cents
        )
        other.partials = self.partials
        other.cents, other.db = dict(self.cents), dict(self.db)
        other.attack_s, other.tremor_cents = dict(self.attack_s), dict(self.tremor_cents)
        return other

    def note(self, seat: str, rate: int = RATE) -> Samples:
        """Play one note."""
        cents = self.cents[seat] + self.rng.normal(0, self.breath_cents)
        t = np.arange(round(NOTE_S * rate)) / rate
        way = cents + self.tremor_cents[seat] * np.sin(2 * np.pi * 6 * t)
        phase = 2 * np.pi * np.cumsum(self.hz(seat) * 2 ** (way / 1200)) / rate
        h = np.arange(1, len(self.partials[seat]) + 1)
        parts = self.partials[seat] * 10 ** (self.tilt_db * np.log2(h) / 20)
        turns = np.random.default_rng(self.seats[seat]).uniform(0, 2 * np.pi, len(h))
        sound = np.sum(
            [a * np.cos(n * phase + p) for n, a, p in zip(h, parts, turns, strict=True)], axis=0
        )
        level = 0.05 * 10 ** ((self.db[seat] + self.rng.normal(0, self.breath_db)) / 20)
        rise = np.minimum(1, t / self.attack_s[seat]) * np.minimum(1, (NOTE_S - t) / 0.02)
        return np.asarray(sound * rise * level / np.sqrt(np.sum(self.partials[seat] ** 2) / 2))

    def take(
        self,
        played: Iterable[str] | None = None,
        *,
        rate: int = RATE,
        gain_db: float = 0.0,
        room_db: float = -70.0,
    ) -> Sound:
        """Play seats one after the other, a rest between them; all in order without `played`."""
        notes = [self.note(seat, rate) for seat in (self.seats if played is None else played)]
        rests: Sequence[Samples] = [np.zeros(round(REST_S * rate))] * len(notes)
        edge = np.zeros(round(EDGE_S * rate))
        parts = [edge, *itertools.chain(*zip(notes, rests, strict=True)), edge]
        sound = np.concatenate(parts) * 10 ** (gain_db / 20)
        return Sound(sound + self.rng.normal(0, 10 ** (room_db / 20), len(sound)), rate)
