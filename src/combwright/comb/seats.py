"""Seats: a chamber and a deck; and the reed that sounds there, on blow or on draw.

A reed facing into the chamber speaks on blow, a reed facing out on draw. On the upper deck the
plate's underside faces in; on the lower deck its topside does (common practice).
"""

from dataclasses import dataclass
from typing import Final, Literal

from combwright.errors import CombwrightError

Deck = Literal["upper", "lower"]
Breath = Literal["blow", "draw"]
Facing = Literal["in", "out"]
Side = Literal["topside", "underside"]
Mount = Literal["front", "rear"]

DECKS: Final[tuple[Deck, Deck]] = ("upper", "lower")
BREATHS: Final[tuple[Breath, Breath]] = ("blow", "draw")
#: Where a reed of each breath usually sits (common practice).
USUAL_DECK: Final[dict[Breath, Deck]] = {"blow": "upper", "draw": "lower"}
MOST_HOLES: Final = 16


class BadSeat(CombwrightError):
    """A seat that is not on the comb, is taken twice, or cannot be told from its name."""


class NoSuchHole(CombwrightError):
    """A hole number outside the comb."""

    def __init__(self, hole: int, holes: int) -> None:
        super().__init__(f"There is no hole {hole}: holes run from 1 to {holes}.")


@dataclass(frozen=True, slots=True, order=True)
class Seat:
    """One seat and the reed that sounds there.

    Parameters
    ----------
    hole : int
        From 1, the lowest.
    deck : {"upper", "lower"}
        Which side of the comb.
    breath : {"blow", "draw"}
        On which breath the reed speaks.
    midi : int
        The note, sounding.
    cents : float
        The seat's own cents, beside whatever a temperament gives.
    """

    hole: int
    deck: Deck
    breath: Breath
    midi: int
    cents: float = 0.0

    @property
    def facing(self) -> Facing:
        """Where the reed looks: in for blow, out for draw."""
        return "in" if self.breath == "blow" else "out"

    @property
    def side(self) -> Side:
        """The side of the plate that the reed must be on when the plate lies in this seat."""
        return side_of_reed(self.deck, self.facing)


def side_of_reed(deck: Deck, facing: Facing) -> Side:
    """Return which side of its plate a reed is on, in a deck, facing in or out."""
    return "underside" if (deck == "upper") == (facing == "in") else "topside"
