"""Where everything stands in a drawing of the comb, in its own units.

The decks are folded open above and below the comb's front: the plate's front end lies at the comb,
its rear end outward. A drawing's unit is a thousandth of the width of a ten-hole one, or so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combwright.comb.combs import Comb
from combwright.comb.seats import Deck
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.plates import DrawnPlate
from combwright.sheets.wording import shows_cents

WIDEST_PITCH: Final = 94.0
NARROWEST_PITCH: Final = 66.0
WIDEST_ROW: Final = 1000.0
PLATE_SHARE: Final = 0.68
BAR_HEIGHT: Final = 58.0
DECK_HEIGHT: Final = 172.0
LEFT: Final = 92.0
RIGHT: Final = 40.0
NARROWEST: Final = 440.0
SEAM: Final = 9.0
#: Beyond the longest plates: the note, then the cents, then frame and tag of the next seat.
NOTE_ROOM: Final = 34.0
CENTS_ROOM: Final = 14.0
NEXT_ROOM: Final = 24.0
RETUNE_ROOM: Final = 15.0


@dataclass(frozen=True, slots=True)
class Geometry:
    """The places of a drawing.

    Parameters
    ----------
    holes : int
        How many chambers.
    longest_mm : float
        Drawn `deck_height` high; every other plate in proportion.
    names_room : float
        Kept free beyond the longest plates.
    """

    holes: int
    longest_mm: float
    names_room: float = NOTE_ROOM
    deck_height: float = DECK_HEIGHT

    @property
    def width(self) -> float:
        """Of the whole drawing."""
        return max(NARROWEST, LEFT + self.holes * self.pitch + RIGHT)

    @property
    def pitch(self) -> float:
        """From hole to hole; many holes stand closer, so that what is written stays legible."""
        return min(WIDEST_PITCH, max(NARROWEST_PITCH, WIDEST_ROW / self.holes))

    @property
    def plate_width(self) -> float:
        """Of every plate."""
        return self.pitch * PLATE_SHARE

    @property
    def left(self) -> float:
        """Where the row of holes begins; a short comb stands in the middle."""
        return LEFT + (self.width - LEFT - self.holes * self.pitch - RIGHT) / 2

    @property
    def bar_top(self) -> float:
        """Upper edge of the comb's front."""
        return self.names_room + self.deck_height + SEAM

    @property
    def legend_top(self) -> float:
        """Where the legend begins."""
        return self.bar_top + BAR_HEIGHT + SEAM + self.deck_height + self.names_room

    def middle(self, hole: int) -> float:
        """Half way across a hole."""
        return self.left + (hole - 0.5) * self.pitch

    def x(self, hole: int) -> float:
        """Left edge of the plates of a hole."""
        return self.middle(hole) - self.plate_width / 2

    def front(self, deck: Deck) -> float:
        """Return the height at which the front ends of a deck's plates lie."""
        return self.bar_top - SEAM if deck == "upper" else self.bar_top + BAR_HEIGHT + SEAM

    def long(self, slot_mm: float) -> float:
        """Drawn length of a plate."""
        return self.deck_height * slot_mm / self.longest_mm


def geometry_of(
    comb: Comb,
    plates: Sequence[DrawnPlate],
    *,
    with_next: bool = False,
    with_retunes: bool = False,
    deck_height: float = DECK_HEIGHT,
) -> Geometry:
    """Return the places for a comb and its plates.

    Raises
    ------
    BadSheet
        If two plates share a seat, or a slot has no length.
    NoSuchHole
        If a plate lies beyond the comb.
    """
    taken: set[tuple[int, Deck]] = set()
    longest = max(comb.takes_mm(hole) for hole in range(1, comb.holes + 1))
    room = NOTE_ROOM + (NEXT_ROOM if with_next else 0) + (RETUNE_ROOM if with_retunes else 0)
    for plate in plates:
        if (plate.hole, plate.deck) in taken:
            raise BadSheet(f"Two plates to draw in seat {plate.hole} {plate.deck}; give one.")
        taken.add((plate.hole, plate.deck))
        longest = max(longest, slot_of(plate, comb))
    room += CENTS_ROOM if any(shows_cents(plate.cents) for plate in plates) else 0
    if longest <= 0:
        raise BadSheet(f"Comb {comb.title!r} takes no slot at all; give its chambers a length.")
    return Geometry(comb.holes, longest, room, deck_height)


def slot_of(plate: DrawnPlate, comb: Comb) -> float:
    """Return the slot length to draw: the plate's own, or the longest that its chamber takes.

    Raises
    ------
    BadSheet
        If the plate's slot is not above 0 mm.
    """
    takes_mm = comb.takes_mm(plate.hole)
    if plate.slot_mm is None:
        return takes_mm
    if not plate.slot_mm > 0:
        raise BadSheet(
            f"The plate in seat {plate.hole} {plate.deck} has a slot of {plate.slot_mm:g} mm; "
            "give more than 0."
        )
    return plate.slot_mm
