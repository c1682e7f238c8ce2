"""Seats as people name them: `5 draw` by the breath, `5 lower` by the deck."""

import re
from dataclasses import dataclass
from typing import Final, cast

from combwright.comb.layouts import Layout
from combwright.comb.seats import BREATHS, DECKS, USUAL_DECK, BadSeat, Breath, Deck, Seat

_NAME: Final = re.compile(r"(?P<hole>[0-9]{1,4})\s*(?P<where>[A-Za-z]+)")


@dataclass(frozen=True, slots=True)
class SeatName:
    """A hole and either the breath or the deck that tells its two seats apart."""

    hole: int
    deck: Deck | None = None
    breath: Breath | None = None

    def __str__(self) -> str:
        return f"{self.hole} {self.deck or self.breath}"


def parse_seat_name(text: str) -> SeatName:
    """Read `5 draw`, `5 lower` and the like, in any case.

    Raises
    ------
    BadSeat
        If the text names no seat.
    """
    found = _NAME.fullmatch(text.strip())
    where = found["where"].lower() if found else ""
    if found is None or where not in (*BREATHS, *DECKS):
        raise BadSeat(
            f"{text.strip()!r} names no seat: write the hole and blow, draw, upper or lower, "
            "as in 5 draw or 5 lower."
        )
    hole = int(found["hole"])
    if where in BREATHS:
        return SeatName(hole, breath=cast("Breath", where))
    return SeatName(hole, deck=cast("Deck", where))


def named_seat(layout: Layout, name: SeatName) -> Seat | None:
    """Return the reed that a layout has in the named seat, None when there is none.

    Raises
    ------
    NoSuchHole
        If the layout has no such hole.
    BadSeat
        If both reeds of the hole have that breath.
    """
    if name.deck is not None:
        return layout.at(name.hole, name.deck)
    found = [seat for seat in layout.in_hole(name.hole) if seat.breath == name.breath]
    if len(found) > 1:
        raise BadSeat(
            f"hole {name.hole} has two {name.breath} reeds; "
            f"name the deck: {name.hole} upper or {name.hole} lower"
        )
    return found[0] if found else None


def free_deck(layout: Layout, hole: int, breath: Breath) -> Deck | None:
    """Return where a further reed of a breath would go: its usual deck, else the other, or None.

    Raises
    ------
    NoSuchHole
        If the layout has no such hole.
    """
    usual = USUAL_DECK[breath]
    in_order = sorted(DECKS, key=lambda deck: deck != usual)
    return next((deck for deck in in_order if layout.at(hole, deck) is None), None)
