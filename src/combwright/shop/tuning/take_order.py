"""The order in which the reeds of an instrument were played, from what its plates aim at."""

from collections.abc import Sequence
from typing import cast

from combwright.comb.layouts import Layout
from combwright.comb.playing_order import playing_order
from combwright.comb.seats import Breath, Deck, Seat
from combwright.ear.takes import Target
from combwright.shop.tuning.aims import Aim


def targets(there: Sequence[Aim], played: str = "") -> list[Target[Aim]]:
    """Return every seat's aim in the order of playing; a kit's plates are in no take.

    Parameters
    ----------
    played : str
        As `1 blow, 1 draw, ...`; seats that it leaves out come last, hole by hole, blow first.

    Raises
    ------
    CombwrightError
        If there is no seat, or the text cannot be read; the error says which.
    """
    seats = {_seat(aim): aim for aim in there if not aim.in_kit}
    holes = max((seat.hole for seat in seats), default=1)
    layout = Layout("the instrument", tuple(seats), holes)
    return [Target(seats[seat], seats[seat].hz) for seat in playing_order(layout, played)]


def _seat(aim: Aim) -> Seat:
    hole, deck, breath = aim.place.split()
    return Seat(int(hole), cast("Deck", deck), cast("Breath", breath), aim.midi)
