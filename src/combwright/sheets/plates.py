"""The plates of a drawing, from a layout or from what a plan has placed, and their bends."""

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median
from typing import Literal

from combwright.comb.chamber import bends
from combwright.comb.layouts import Layout
from combwright.comb.seats import Breath, Deck, Facing, Mount, Seat
from combwright.notes.names import note_name

PlateState = Literal["present", "missing"]
#: A seat by its place alone.
Place = tuple[int, Deck]


@dataclass(frozen=True, slots=True)
class DrawnPlate:
    """A plate as drawn.

    Parameters
    ----------
    hole, deck
        Its seat.
    facing : {"in", "out"}
        Where the reed looks: in speaks on blow, out on draw.
    midi, cents : int, float
        The note that the seat wants, and the cents beside it.
    mount : {"front", "rear"} or None
        The riveted end; None where no plate is chosen yet.
    slot_mm : float or None
        Length of its slot; None draws the longest that the chamber takes.
    state : {"present", "missing"}
        Missing: the seat wants a plate that nobody has.
    """

    hole: int
    deck: Deck
    facing: Facing
    midi: int
    cents: float = 0.0
    mount: Mount | None = None
    slot_mm: float | None = None
    state: PlateState = "present"

    @property
    def breath(self) -> Breath:
        """On which breath the reed speaks."""
        return "blow" if self.facing == "in" else "draw"

    @property
    def note(self) -> str:
        """The note's name, spelled with sharps."""
        return note_name(self.midi)


def plates_of_layout(layout: Layout, *, missing: Iterable[Place] = ()) -> tuple[DrawnPlate, ...]:
    """Return the plates of a layout for which none is chosen yet; `missing` names the lacking."""
    lacking = frozenset(missing)
    return tuple(
        DrawnPlate(
            hole=seat.hole,
            deck=seat.deck,
            facing=seat.facing,
            midi=seat.midi,
            cents=seat.cents,
            state="missing" if (seat.hole, seat.deck) in lacking else "present",
        )
        for seat in layout.seats
    )


def bends_of_plates(plates: Iterable[DrawnPlate]) -> dict[Place, int]:
    """Return by how many semitones the reed of each seat bends, seats that do not left out."""
    drawn = list(plates)
    if not drawn:
        return {}
    # A pitch standard moves all reeds alike and must not tip one of a pair over a half semitone.
    shared = median(plate.cents for plate in drawn)
    seats = [Seat(p.hole, p.deck, p.breath, p.midi, p.cents - shared) for p in drawn]
    layout = Layout("drawn", tuple(seats), holes=max(seat.hole for seat in seats))
    steps: dict[Place, int] = {}
    for seat in layout.seats:
        deepest = [bend for bend in bends(layout, seat.hole) if bend.breath == seat.breath]
        if deepest:
            steps[seat.hole, seat.deck] = len(deepest)
    return steps
