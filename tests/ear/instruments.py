"""Instruments made up from numbers and played, so that every difference between takes is known."""

import numpy as np

from combwright.ear.sound import Sound
from combwright.ear.takes import Target
from ear.reeds import RATE
from published import rows

#: Seats of the standard layout on C4, in the order of playing. Source: [oeis-a291810].
SEATS = [
    (f"{row['hole']} {breath}", 60 + int(row[breath]))
    for row in rows("oeis_a291810.csv")
    for breath in ("blow", "draw")
]
ORDER = [Target(seat, 440 * 2 ** ((midi - 69) / 12)) for seat, midi in SEATS]


class Instrument:
    """Twenty reeds, each with its partials, cents, level and attack; breaths stray around them."""

    def __init__(self, seed=1, *, breath_db=0.2, breath_cents=0.3, seats=SEATS):
        self.rng = np.random.default_rng(seed)
        self.breath_db, self.breath_cents = breath_db, breath_cents
        self.seats = dict(seats)
        self.partials = {}
        for seat, midi in seats:
            h = np.arange(1, max(2, min(16, int(9000 / (440 * 2 ** ((midi - 69) / 12))))) + 1)
            self.partials[seat] = h**-1.0 * np.exp(self.rng.normal(0, 0.3, len(h)))
        self.cents = {seat: self.rng.uniform(-8, 8) for seat in self.seats}
        self.db = dict.fromkeys(self.seats, 0.0)
        self.attack_s = dict.fromkeys(self.seats, 0.03)
        self.tremor_cents = dict.fromkeys(self.seats, 0.0)
        self.tilt_db = 0.0

    def copy(self, seed, **options):
        """Return the same instrument, to be played by other breaths."""
        other = Instrument(seed, **options, seats=list(self.seats.items()))
        other.partials = self.partials
        for what in ("cents", "db", "attack_s", "tremor_cents"):
            setattr(other, what, dict(getattr(self, what)))
        return other

    def note(self, seat, rate=RATE, seconds=0.55):
        hz = 440 * 2 ** ((self.seats[seat] - 69) / 12)
        cents = self.cents[seat] + self.rng.normal(0, self.breath_cents)
        t = np.arange(round(seconds * rate)) / rate
        way = cents + self.tremor_cents[seat] * np.sin(2 * np.pi * 6 * t)
        phase = 2 * np.pi * np.cumsum(hz * 2 ** (way / 1200)) / rate
        parts = self.partials[seat]
        h = np.arange(1, len(parts) + 1)
        parts = parts * 10 ** (self.tilt_db * np.log2(h) / 20)
        turns = np.random.default_rng(self.seats[seat]).uniform(0, 2 * np.pi, len(parts))
        sound = sum(a * np.cos(n * phase + p) for n, a, p in zip(h, parts, turns, strict=True))
        level = 0.05 * 10 ** ((self.db[seat] + self.rng.normal(0, self.breath_db)) / 20)
        sound *= level / np.sqrt(np.sum(self.partials[seat] ** 2) / 2)
        falls = np.minimum(1, (seconds - t) / 0.02)
        return sound * np.minimum(1, t / self.attack_s[seat]) * falls

    def take(self, played=None, *, rate=RATE, gain_db=0.0, room_db=-70.0):
        """Play seats one after the other, a rest between them; all in order without `played`."""
        rest = np.zeros(round(0.15 * rate))
        parts = [np.zeros(round(0.3 * rate))]
        for seat in played or list(self.seats):
            parts += [self.note(seat, rate), rest]
        parts.append(np.zeros(round(0.3 * rate)))
        sound = np.concatenate(parts) * 10 ** (gain_db / 20)
        return Sound(sound + self.rng.normal(0, 10 ** (room_db / 20), len(sound)), rate)
