"""What a build sheet says besides numbers: the steps in the order of work, and the cautions.

The order of work is common practice, no source. The cautions rest on docs/sources.md, [osha-lead],
[osha-beryllium], [osha-eyes], [brass-lead] and [instrument-hygiene]; which rules
bind a workshop is for its own place to say, so none is quoted with its numbers.
"""

from collections.abc import Sequence
from typing import Final

CAUTIONS: Final = (
    "Local rules and licensed practice come first.",
    "Filing makes metal dust, and some brass holds lead: wear eye protection, work at the "
    "extraction, and wash your hands afterwards and before you eat or drink.",
    "Never file beryllium copper.",
    "A returned instrument is disinfected before any work on it.",
)


def instrument_steps(*, retunes: int, kit: int) -> tuple[str, ...]:
    """Return the steps of building an instrument; `retunes` and `kit` count plates."""
    seat_by_seat = "Lay the plates out seat by seat; check bin, batch, mount and note."
    retune = f"Retune the {_plates(retunes)} marked raise or lower, before seating."
    seated = "Seat every plate on its own seal, reed side and mounted end as in the table."
    tuned = (
        "Covers off: tune at one steady, gentle breath, a few cents above the target, since harder "
        "breath lets the pitch sag. Play every hole on both breaths."
    )
    kitted = f"Pack the {_plates(kit)} of the kit, each marked with its seat."
    return (
        seat_by_seat,
        *((retune,) if retunes else ()),
        seated,
        tuned,
        "Screw the covers on loosely.",
        "Seat the covers behind the comb's front lip.",
        "Tighten the screws, play every hole again and listen for leaks.",
        *((kitted,) if kit else ()),
    )


def loose_plate_steps(*, retunes: int) -> tuple[str, ...]:
    """Return the steps of an order of plates alone."""
    retune = f"Retune the {_plates(retunes)} marked raise or lower."
    return (
        "Check bin, batch, mount and note of every plate against the table.",
        *((retune,) if retunes else ()),
        "Mark each plate with the seat it is for, and pack it.",
    )


def steps_for(*, instruments: bool, retunes: int, kit: int) -> Sequence[str]:
    """Return the steps of an order, with or without instruments in it."""
    if instruments:
        return instrument_steps(retunes=retunes, kit=kit)
    return loose_plate_steps(retunes=retunes)


def _plates(count: int) -> str:
    return "one plate" if count == 1 else f"{count} plates"
