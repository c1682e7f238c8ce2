"""Two layouts side by side: which reeds change, which notes and bends come and go."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from combwright.comb.chamber import Bend, bends, sounding_midi
from combwright.comb.layouts import Layout
from combwright.comb.reach import HOWS, How, Sound, sounds
from combwright.comb.seats import Breath, Deck, Seat
from combwright.notes.pitch import millicents

_SEMITONE: Final = 100


@dataclass(frozen=True, slots=True)
class ReedChange:
    """One reed of one seat that differs.

    Parameters
    ----------
    hole, deck : int, {"upper", "lower"}
        The seat.
    breath : {"blow", "draw"}
        The breath the reed speaks on. A plate turned over in its seat makes two changes: the one
        breath loses a reed, the other gains one.
    from_midi, to_midi : int or None
        The note before and after; None where there is no such reed.
    semitones : int or None
        From the one to the other; None when either is missing.
    cents : float
        What the reed's own cents change beside that.
    """

    hole: int
    deck: Deck
    breath: Breath
    from_midi: int | None
    to_midi: int | None
    semitones: int | None
    cents: float = 0.0


@dataclass(frozen=True, slots=True)
class NoteChange:
    """A note that one layout gives, and the other gives only by harder means or not at all."""

    midi: int
    how: How
    otherwise: How


@dataclass(frozen=True, slots=True)
class Difference:
    """What changes from a base layout to another one.

    Parameters
    ----------
    seats : tuple of ReedChange
        By hole, upper deck first.
    gained, lost : tuple of NoteChange
        Notes, lowest first, that only the other (the base) has, or has by easier means: natural
        is easier than bend, bend than overbend.
    bends_gained, bends_lost : tuple of Bend
        Bends of a hole that only the other (the base) has, by hole, shallowest first. A bend stays
        the same when hole, breath, depth and note do.
    """

    seats: tuple[ReedChange, ...]
    gained: tuple[NoteChange, ...]
    lost: tuple[NoteChange, ...]
    bends_gained: tuple[Bend, ...]
    bends_lost: tuple[Bend, ...]


def difference(base: Layout, other: Layout) -> Difference:
    """Compare a layout with a base, reed by reed, note by note, bend by bend.

    Both are taken as they sound: bring them into one key first. They may differ in holes.
    """
    before, after = sounds(base), sounds(other)
    return Difference(
        seats=_changed_reeds(base, other),
        gained=_easier(after, before),
        lost=_easier(before, after),
        bends_gained=_only_in(other, base),
        bends_lost=_only_in(base, other),
    )


def _changed_reeds(base: Layout, other: Layout) -> tuple[ReedChange, ...]:
    before, after = ({(s.hole, s.deck, s.breath): s for s in x.seats} for x in (base, other))
    places = sorted(before.keys() | after.keys(), key=lambda p: (p[0], p[1] == "lower", p[2]))
    return tuple(
        _change(before.get(place), after.get(place), place)
        for place in places
        if _height(before.get(place)) != _height(after.get(place))
    )


def _change(before: Seat | None, after: Seat | None, place: tuple[int, Deck, Breath]) -> ReedChange:
    from_midi = None if before is None else sounding_midi(before)
    to_midi = None if after is None else sounding_midi(after)
    if before is None or after is None or from_midi is None or to_midi is None:
        return ReedChange(*place, from_midi, to_midi, None)
    semitones = to_midi - from_midi
    whole = _SEMITONE * (after.midi - before.midi - semitones)
    return ReedChange(*place, from_midi, to_midi, semitones, whole + after.cents - before.cents)


def _height(seat: Seat | None) -> int | None:
    # Whole thousandths of a cent, so that F5+100 and F#5 are one and the same reed.
    return None if seat is None else millicents(seat.midi, seat.cents)


def _easier(
    here: Mapping[int, tuple[Sound, ...]], there: Mapping[int, tuple[Sound, ...]]
) -> tuple[NoteChange, ...]:
    found = []
    for midi, ways in here.items():
        how = ways[0].how
        otherwise = there[midi][0].how if midi in there else "missing"
        if HOWS.index(how) < HOWS.index(otherwise):
            found.append(NoteChange(midi, how, otherwise))
    return tuple(found)


def _only_in(layout: Layout, other: Layout) -> tuple[Bend, ...]:
    known = set(_all_bends(other))
    return tuple(bend for bend in _all_bends(layout) if bend not in known)


def _all_bends(layout: Layout) -> tuple[Bend, ...]:
    return tuple(bend for hole in range(1, layout.holes + 1) for bend in bends(layout, hole))
