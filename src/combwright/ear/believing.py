"""How many reeds sound, and the fit of all of them.

Sets of distinct notes are fitted, and reeds that are missing then are looked for beside those
found. The fit of all is compared with the best of one reed fewer under a breath that may tremble
and swell, since a lone reed of an unsteady breath resembles a pair: a reed more is believed only
where what is left near the partials falls clearly with it.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np

from combwright.ear.adding import added, beside, look, price
from combwright.ear.chords import notes_in
from combwright.ear.growing import grown, lively, thinned
from combwright.ear.hums import hums_in
from combwright.ear.leftover import fall_db, something_left, spurious, without_knocks
from combwright.ear.several import Joint, fit_several
from combwright.ear.sound import BadSound, Samples

#: How far what is left near the partials must fall with a reed more.
CLEAR_DB: Final = 5.0
#: All sets of notes are compared in a band up to so many times the highest note.
_COMPARED: Final = 5
#: A reed with less than this share of its power outside every second or third partial is one of
#: twice or three times the frequency.
_GHOST_SHARE: Final = 0.02
#: In octaves: half a semitone.
_OTHER_NOTE: Final = 0.04


class NoReeds(BadSound):
    """A sound with nothing steady enough in it to be reeds that sound together."""

    def __init__(self, why: str) -> None:
        super().__init__(
            f"No steady notes are heard: {why}. Hold the reeds together for a second, close to the "
            "microphone; speech gives no reading."
        )


def reeds_in(
    samples: Samples, rate: int, most: int, near_hz: Sequence[float]
) -> tuple[Joint, tuple[float, ...]]:
    """Return the fit of all reeds believed in, and the hum beside them.

    Parameters
    ----------
    samples : array, shape (n,)
        From 0.2 s on.
    most : int
        How many reeds at most.
    near_hz : sequence of float
        Where each is expected; anywhere where it is empty.

    Raises
    ------
    NoReeds
        If no note is found at all.
    """
    sets = _sets(samples, rate, most, near_hz)
    if not sets:
        raise NoReeds("noise alone is found")
    hums = hums_in(samples, rate, min(sets[0]))
    samples = without_knocks(samples, rate, grown(samples, rate, max(sets, key=len), hums=hums))
    search = _Search(samples, rate, most, tuple(near_hz), hums)
    return search.believed(search.best(sets)), hums


def _sets(
    samples: Samples, rate: int, most: int, near_hz: Sequence[float]
) -> list[tuple[float, ...]]:
    """Return sets of notes that may be the distinct ones."""
    if not near_hz:
        hums = hums_in(samples, rate, rate / 2)
        found = notes_in(samples, rate, most, beside_hz=hums)
        clearest = None if found else look(samples, rate, None)
        return found if clearest is None else [(clearest,)]
    kept: list[float] = []
    for hz in near_hz:
        if beside(hz, kept).beside is None and (heard := look(samples, rate, hz)):
            kept.append(heard)
    return [tuple(kept)] if kept else []


class _Search:
    """The way from sets of notes to the reeds that are believed in."""

    def __init__(
        self,
        samples: Samples,
        rate: int,
        most: int,
        near_hz: tuple[float, ...],
        hums: tuple[float, ...],
    ) -> None:
        self.x, self.rate, self.most = samples, rate, most
        self.near_hz, self.hums = near_hz, hums

    def best(self, sets: list[tuple[float, ...]]) -> list[Joint]:
        """Return the best fit, after those with fewer reeds that it grew from."""
        ways = []
        for notes in self._likeliest(sets):
            way = self._completed(self._grown(notes))
            ways.append(way)
            if not something_left(self.rate, way[-1]):
                break
        way = min(ways, key=lambda each: price(each[-1], len(self.x)))
        return [*way[:-1], self._raised(way[-1])]

    def _grown(self, hz: Sequence[float] | Samples) -> Joint:
        return grown(self.x, self.rate, hz, hums=self.hums)

    def _completed(self, now: Joint) -> list[Joint]:
        way = [now]
        while len(now.hz) < self.most and something_left(self.rate, now):
            near = self.near_hz[len(now.hz)] if self.near_hz else None
            more = added(self.x, self.rate, now, near, self.hums)
            if more is None or price(more, len(self.x)) > price(now, len(self.x)):
                break
            now = more
            way.append(now)
        return way

    def _likeliest(self, sets: list[tuple[float, ...]]) -> list[tuple[float, ...]]:
        """Return the set of each size that leaves least, the largest first."""
        highest = max(max(notes) for notes in sets)
        thin, slower = thinned(self.x, self.rate, _COMPARED * highest)
        found = []
        for size in sorted({len(notes) for notes in sets}, reverse=True):
            same = [notes for notes in sets if len(notes) == size]
            if len(same) > 1:
                same.sort(key=lambda notes: fit_several(thin, slower, notes, steps=3).residual)
            found.append(same[0])
        return found

    def _raised(self, fit: Joint) -> Joint:
        """Put a reed that has only every second or third partial where these are all it has."""
        for n, parts in enumerate(fit.amplitudes):
            power = np.square(parts)
            for times in (2, 3):
                if power.sum() - power[times - 1 :: times].sum() < _GHOST_SHARE * power.sum():
                    hz = fit.hz.copy()
                    hz[n] *= times
                    # Both from where they end, since that decides how many partials count.
                    fit, other = (
                        fit_several(self.x, self.rate, f, motion=fit.motion, hums=self.hums)
                        for f in (fit.hz, hz)
                    )
                    if price(other, len(self.x)) < price(fit, len(self.x)):
                        return self._raised(other)
        return fit

    def believed(self, way: list[Joint]) -> Joint:
        """Return the fit with the reeds that are clearly there."""
        now = way[-1]
        while len(now.hz) > 1:
            way = way[:-1]
            fewer = self._fewer(way, now)
            if not spurious(now, len(self.x) / self.rate):
                shaken = lively(self.x, self.rate, fewer, hums=self.hums)
                if self._clear(shaken, now):
                    break
                if something_left(self.rate, now):
                    also = lively(self.x, self.rate, now, hums=self.hums)
                    # What sways all reeds alike may be all that the new one brought.
                    same = fit_several(
                        self.x, self.rate, fewer.hz, motion=also.motion, hums=self.hums
                    )
                    if self._clear(shaken, also) and self._clear(same, also):
                        return also
            now = fewer
        return self._moved(now)

    def _fewer(self, way: list[Joint], now: Joint) -> Joint:
        """Return the best fit with one reed fewer: that before, or without the weakest."""
        without = self._raised(self._without_weakest(now))
        if not way:
            return without
        before = self._raised(way[-1])
        off = np.abs(np.log2(np.sort(before.hz) / np.sort(without.hz)))
        if float(off.max()) < _OTHER_NOTE:
            return before
        # Which note is right shows under the breath's tremor alone.
        both = [(lively(self.x, self.rate, fit, hums=self.hums), fit) for fit in (before, without)]
        return min(both, key=lambda each: price(each[0], len(self.x)))[1]

    def _clear(self, fewer: Joint, more: Joint) -> bool:
        fall = fall_db(self.rate, fewer, more)
        return fall >= CLEAR_DB

    def _moved(self, now: Joint) -> Joint:
        """Return the fit, under a trembling breath where that leaves clearly less."""
        if not something_left(self.rate, now):
            return now
        shaken = lively(self.x, self.rate, now, hums=self.hums)
        return min(now, shaken, key=lambda fit: price(fit, len(self.x)))

    def _without_weakest(self, fit: Joint) -> Joint:
        weakest = int(np.argmin([np.sum(np.square(each)) for each in fit.amplitudes]))
        return self._grown(np.delete(fit.hz, weakest))
