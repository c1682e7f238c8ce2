"""Layouts: which note sounds in which seat."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from combwright.comb.seats import MOST_HOLES, USUAL_DECK, Breath, Deck, NoSuchHole, Seat
from combwright.errors import CombwrightError
from combwright.notes.keys import Key


class BadLayout(CombwrightError):
    """A layout that cannot be: a seat twice, a hole too many, lists of unequal length."""


@dataclass(frozen=True, slots=True)
class Layout:
    """The reeds of an instrument: at most one a seat, any number of seats empty.

    Parameters
    ----------
    title : str
        The trade's generic name, or which reed changes.
    seats : tuple of Seat
        In any order; kept sorted by hole, upper deck first.
    holes : int
        How many holes the layout has, empty ones counted, 1 to 16.
    about : str
        What changes against the standard layout, and what it is good for.

    Raises
    ------
    BadLayout
        If two reeds share a seat or there are fewer than 1 or more than 16 holes.
    NoSuchHole
        If a seat lies beyond the holes.
    """

    title: str
    seats: tuple[Seat, ...]
    holes: int = 10
    about: str = ""

    def __post_init__(self) -> None:
        if not 1 <= self.holes <= MOST_HOLES:
            raise BadLayout(
                f"A layout has 1 to {MOST_HOLES} holes; {self.title!r} has {self.holes}."
            )
        places: set[tuple[int, Deck]] = set()
        for seat in self.seats:
            if not 1 <= seat.hole <= self.holes:
                raise NoSuchHole(seat.hole, self.holes)
            if (seat.hole, seat.deck) in places:
                raise BadLayout(f"{self.title!r} has two reeds in seat {seat.hole} {seat.deck}.")
            places.add((seat.hole, seat.deck))
        in_order = sorted(self.seats, key=lambda s: (s.hole, s.deck == "lower"))
        object.__setattr__(self, "seats", tuple(in_order))

    def in_key(self, key: Key) -> "Layout":
        """Return the layout moved from C to a key."""
        moved = tuple(replace(seat, midi=seat.midi + key.shift) for seat in self.seats)
        return replace(self, seats=moved)

    def in_hole(self, hole: int) -> tuple[Seat, ...]:
        """Return the seats of a hole, upper deck first.

        Raises
        ------
        NoSuchHole
            If the layout has no such hole.
        """
        if not 1 <= hole <= self.holes:
            raise NoSuchHole(hole, self.holes)
        return tuple(seat for seat in self.seats if seat.hole == hole)

    def at(self, hole: int, deck: Deck) -> Seat | None:
        """Return what sits in one seat, or None for an empty one."""
        return next((seat for seat in self.in_hole(hole) if seat.deck == deck), None)


def from_lists(
    title: str,
    blow: Sequence[int | None],
    draw: Sequence[int | None],
    *,
    about: str = "",
    more: Iterable[Seat] = (),
) -> Layout:
    """Build a layout from a list of blow notes and one of draw notes, hole 1 first.

    Parameters
    ----------
    title, about : str
        As in `Layout`.
    blow, draw : sequences of MIDI numbers
        Of equal length; None is an empty seat. Blow reeds go on the upper deck, draw reeds on the
        lower.
    more : seats
        Override what the lists put in the same seat, and add to them.

    Raises
    ------
    BadLayout
        If the lists differ in length.
    """
    if len(blow) != len(draw):
        raise BadLayout(
            f"{title!r} has {len(blow)} blow notes and {len(draw)} draw notes; give one of each "
            'a hole, "" for an empty seat.'
        )
    seats = {(s.hole, s.deck): s for s in (*_row("blow", blow), *_row("draw", draw))}
    seats |= {(s.hole, s.deck): s for s in more}
    return Layout(title, tuple(seats.values()), holes=len(blow), about=about)


def _row(breath: Breath, notes: Sequence[int | None]) -> list[Seat]:
    return [
        Seat(hole, USUAL_DECK[breath], breath, midi)
        for hole, midi in enumerate(notes, start=1)
        if midi is not None
    ]
