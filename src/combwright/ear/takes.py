"""A take: every reed of an instrument played one after the other, each given to its seat.

Most seats are told by pitch alone. Seats that share a pitch are told by the order of playing; so
are reeds that sit in each other's seats, as long as most of the take keeps to the order.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final, Generic, TypeVar

import numpy as np

from combwright.ear.breaths import breaths
from combwright.ear.cutting import cut
from combwright.ear.readings import NoReed, Reading, read_reed
from combwright.ear.seating import seated
from combwright.ear.sound import Sound
from combwright.ear.stretches import Stretch

S = TypeVar("S", bound=Hashable)
#: A note shorter than this is a false start.
SHORTEST_S: Final = 0.25
_EDGE_S: Final = 0.05
_NO_NOTE: Final = "no steady note"


@dataclass(frozen=True, slots=True)
class Target(Generic[S]):
    """A seat, by whatever name the caller has for it, and the pitch it should have."""

    seat: S
    hz: float


@dataclass(frozen=True, slots=True)
class Heard(Generic[S]):
    """One note of a take and the seat it was given to; its cents count from that seat's pitch."""

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

    Of the seats not heard those are silent at whose turn there was breath, but no note. `again` has
    the earlier readings of seats that were played again.
    """

    notes: tuple[Heard[S], ...]
    missing: tuple[S, ...]
    ignored: tuple[Ignored, ...]
    interchanged: tuple[tuple[S, S], ...]
    silent: tuple[S, ...] = ()
    again: tuple[Heard[S], ...] = ()


def hear_take(sound: Sound, order: Sequence[Target[S]]) -> Take[S]:
    """Cut a take and give each note to its seat.

    Parameters
    ----------
    order : sequence of Target
        Every seat once, as they were to be played; another order is understood too.
    """
    notes, ignored = _read(sound, order)
    places = seated([target.hz for target in order], [reading.hz for _, reading in notes])
    heard: dict[S, Heard[S]] = {}
    again: list[Heard[S]] = []
    for (stretch, reading), (place, unsure) in zip(notes, places.places, strict=True):
        if place is None:
            ignored.append(Ignored(stretch, "belongs to no seat"))
            continue
        seat = order[place].seat
        if seat in heard:
            ignored.append(Ignored(heard[seat].stretch, "played again later"))
            again.append(heard[seat])
        off = float(1200 * np.log2(reading.hz / order[place].hz))
        heard[seat] = Heard(seat, stretch, reading, off, unsure or reading.unsure)
    return Take(
        tuple(sorted(heard.values(), key=lambda note: note.stretch.start_s)),
        tuple(target.seat for target in order if target.seat not in heard),
        tuple(sorted(ignored, key=lambda each: each.stretch.start_s)),
        tuple((order[a].seat, order[b].seat) for a, b in places.interchanged),
        _silent(sound, order, heard, ignored) if places.in_order else (),
        tuple(again),
    )


def _read(
    sound: Sound, order: Sequence[Target[S]]
) -> tuple[list[tuple[Stretch, Reading]], list[Ignored]]:
    """Read every note of a take, and say which sounds are none."""
    notes, ignored = [], []
    for each in cut(sound, [target.hz for target in order]):
        if each.stretch.seconds < SHORTEST_S:
            ignored.append(Ignored(each.stretch, "too short: a false start"))
            continue
        part = each.stretch.settled()
        try:
            reading = read_reed(sound.part(part.start_s, part.end_s), near_hz=each.near_hz)
        except NoReed:
            ignored.append(Ignored(each.stretch, _NO_NOTE))
            continue
        notes.append((each.stretch, reading))
    return notes, ignored


def _silent(
    sound: Sound,
    order: Sequence[Target[S]],
    heard: Mapping[S, Heard[S]],
    ignored: Sequence[Ignored],
) -> tuple[S, ...]:
    """Return the seats not heard at whose turn there is a breath each."""
    found: list[S] = []
    tones = [note.stretch for note in heard.values()]
    tones += [each.stretch for each in ignored if each.why != _NO_NOTE]
    blown = breaths(sound, tones)
    for missed, group in groupby(range(len(order)), lambda at: order[at].seat not in heard):
        turns = list(group)
        if not missed:
            continue
        after = heard[order[turns[0] - 1].seat].stretch.end_s if turns[0] else 0.0
        last = turns[-1] + 1
        before = heard[order[last].seat].stretch.start_s if last < len(order) else sound.seconds
        between = [
            each
            for each in blown
            if after - _EDGE_S < each.start_s and each.end_s < before + _EDGE_S
        ]
        if len(between) == len(turns):
            found += [order[at].seat for at in turns]
    return tuple(found)
