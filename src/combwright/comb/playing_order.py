"""The order in which the reeds of an instrument are played, one after the other."""

from combwright.comb.layouts import Layout
from combwright.comb.seat_names import named_seat, parse_seat_name
from combwright.comb.seats import Seat
from combwright.errors import CombwrightError


class BadOrder(CombwrightError):
    """An order of playing that names a seat twice, or one without a reed."""


def playing_order(layout: Layout, text: str = "") -> tuple[Seat, ...]:
    """Return the seats of a layout in the order of playing.

    Parameters
    ----------
    text : str
        Seats as people name them, `1 blow, 1 draw, ...`; those that it leaves out come last, hole
        by hole, blow first.

    Raises
    ------
    BadOrder
        If the layout has no reed, or the text names a seat twice or one without a reed.
    BadSeat, NoSuchHole
        If a part of the text names no seat of the layout.
    """
    usual = sorted(layout.seats, key=lambda seat: (seat.hole, seat.breath != "blow", seat.deck))
    if not usual:
        raise BadOrder("The layout has no reed in it; there is nothing to play.")
    named: list[Seat] = []
    for part in filter(None, (part.strip() for part in text.split(","))):
        seat = named_seat(layout, parse_seat_name(part))
        if seat is None:
            raise BadOrder(f"{part!r} has no reed in this layout; leave it out of the order.")
        if seat in named:
            raise BadOrder(f"{part!r} stands twice in the order; name each seat once.")
        named.append(seat)
    return (*named, *(seat for seat in usual if seat not in named))
