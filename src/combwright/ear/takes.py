"""A take: every reed of an instrument played one after the other, each given to its seat.

Most seats are told by pitch alone. Seats that share a pitch are told by the order of playing; so
are reeds that sit in each other's seats, as long as most of the take keeps to the order.
"""

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

import numpy as np

from combwright.ear.cutting import Cut, cut
from combwright.ear.readings import NoReed, Reading, read_reed
from combwright.ear.sound import Sound
from combwright.ear.stretches import Stretch

S = TypeVar("S", bound=Hashable)
#: A note shorter than this is a false start.
SHORTEST_S: Final = 0.25
#: Seats this near to each other share a pitch.
SAME_CENTS: Final = 60.0
_GAP, _OTHER = 1.0, 1.4


@dataclass(frozen=True, slots=True)
class Target(Generic[S]):
    """A seat, by whatever name the caller has for it, and the pitch it should have."""

    seat: S
    hz: float


@dataclass(frozen=True, slots=True)
class Heard(Generic[S]):
    """One note of a take and the seat it was given to."""

    seat: S
    stretch: Stretch
    reading: Reading
    cents: float
    unsure: bool


@dataclass(frozen=True, slots=True)
class Ignored:
    """A sound that became no reading, and why."""

    stretch: Stretch
    why: str


@dataclass(frozen=True, slots=True)
class Take(Generic[S]):
    """What a take holds: a reading a seat at most, seats not heard, and what was left out.

    `again` has the earlier readings of seats that were played again.
    """

    notes: tuple[Heard[S], ...]
    missing: tuple[S, ...]
    ignored: tuple[Ignored, ...]
    interchanged: tuple[tuple[S, S], ...]
    again: tuple[Heard[S], ...] = ()


def hear_take(sound: Sound, order: Sequence[Target[S]]) -> Take[S]:
    """Cut a take and give each note to its seat.

    Parameters
    ----------
    order : sequence of Target
        Every seat once, as they were to be played; another order is understood too.
    """
    ignored: list[Ignored] = []
    notes: list[tuple[Cut, Reading]] = []
    for each in cut(sound, [target.hz for target in order]):
        if each.stretch.seconds < SHORTEST_S:
            ignored.append(Ignored(each.stretch, "too short: a false start"))
            continue
        part = each.stretch.settled()
        try:
            reading = read_reed(sound.part(part.start_s, part.end_s), near_hz=each.near_hz)
        except NoReed:
            ignored.append(Ignored(each.stretch, "no steady note"))
            continue
        notes.append((each, reading))
    given, swapped = _given(order, [reading.hz for _, reading in notes])
    heard: dict[S, Heard[S]] = {}
    again: list[Heard[S]] = []
    for (each, reading), (place, unsure) in zip(notes, given, strict=True):
        if place is None:
            ignored.append(Ignored(each.stretch, "belongs to no seat"))
            continue
        target = order[place]
        if target.seat in heard:
            ignored.append(Ignored(heard[target.seat].stretch, "played again later"))
            again.append(heard[target.seat])
        off = float(1200 * np.log2(reading.hz / target.hz))
        doubt = unsure or reading.unsure
        heard[target.seat] = Heard(target.seat, each.stretch, reading, off, doubt)
    return Take(
        tuple(sorted(heard.values(), key=lambda note: note.stretch.start_s)),
        tuple(target.seat for target in order if target.seat not in heard),
        tuple(sorted(ignored, key=lambda each: each.stretch.start_s)),
        tuple((order[a].seat, order[b].seat) for a, b in swapped),
        tuple(again),
    )


def _given(
    order: Sequence[Target[S]], heard_hz: Sequence[float]
) -> tuple[list[tuple[int | None, bool]], list[tuple[int, int]]]:
    """Return each note's place and whether that is unsure, and which places are interchanged."""
    off = np.array(
        [[1200 * np.log2(hz / target.hz) for target in order] for hz in heard_hz]
    ).reshape(len(heard_hz), len(order))
    same = np.abs(off) < SAME_CENTS
    aligned = _aligned(same)
    in_order = sum(p is not None and bool(same[n, p]) for n, p in enumerate(aligned))
    keeps = len(heard_hz) > 0 and in_order >= 0.6 * len(heard_hz)
    swapped = _swapped(aligned, same) if keeps else []
    twisted = {place for pair in swapped for place in pair}
    given: list[tuple[int | None, bool]] = []
    times: dict[int, int] = defaultdict(int)
    for note, place in enumerate(aligned):
        if keeps and place is not None and (same[note, place] or place in twisted):
            given.append((place, False))
            times[place] += 1
            continue
        fitting = [int(p) for p in np.flatnonzero(same[note])]
        fresh = [p for p in fitting if p not in set(aligned) or not keeps]
        choice = min(fresh or fitting, key=lambda p: (times[p], abs(off[note, p])), default=None)
        if choice is not None:
            times[choice] += 1
        given.append((choice, len(fitting) > 1))
    return given, swapped


def _aligned(same: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> list[int | None]:
    """Align notes with the order; a note that repeats the one before costs little."""
    notes, places = same.shape
    cost = np.full((notes + 1, places + 1), np.inf)
    cost[0] = np.arange(places + 1) * _GAP
    way = np.zeros((notes + 1, places + 1), np.int8)
    for n in range(1, notes + 1):
        for p in range(places + 1):
            again = 0.5 if p and same[n - 1, p - 1] else _GAP
            options = [cost[n - 1, p] + again]
            options.append(cost[n, p - 1] + _GAP if p else np.inf)
            match = 0.0 if p and same[n - 1, p - 1] else _OTHER
            options.append(cost[n - 1, p - 1] + match if p else np.inf)
            way[n, p] = int(np.argmin(options))
            cost[n, p] = min(options)
    found: list[int | None] = [None] * notes
    n, p = notes, places
    while n:
        step = way[n, p]
        if step == 1:
            p -= 1
            continue
        n -= 1
        if step == 2:
            p -= 1
            found[n] = p
        elif p and same[n, p - 1]:
            found[n] = p - 1
    return found


def _swapped(
    aligned: Sequence[int | None], same: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
) -> list[tuple[int, int]]:
    """Return pairs of places whose notes have each other's pitch and not their own."""
    at = {place: note for note, place in enumerate(aligned) if place is not None}
    odd = [place for place, note in at.items() if not same[note, place]]
    return [
        (a, b)
        for index, a in enumerate(sorted(odd))
        for b in sorted(odd)[index + 1 :]
        if same[at[a], b] and same[at[b], a]
    ]
