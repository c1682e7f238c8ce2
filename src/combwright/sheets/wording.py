"""What a drawing shows, in words, for those who hear it instead of seeing it."""

from collections.abc import Mapping, Sequence

from combwright.comb.combs import Comb
from combwright.comb.seats import DECKS
from combwright.sheets.plates import DrawnPlate, Place


def describe(
    comb: Comb,
    plates: Sequence[DrawnPlate],
    bends: Mapping[Place, int],
    next_seat: Place | None,
    framed: Mapping[Place, str],
) -> str:
    """Return one sentence a hole, after one on the whole."""
    at = {(plate.hole, plate.deck): plate for plate in plates}
    lines = [
        f"The comb {comb.title} from the front, its {_counted(comb.holes, 'hole')} from left to "
        "right, with its upper and its lower deck."
    ]
    for hole in range(1, comb.holes + 1):
        decks = [
            f"{deck} deck {_plate_words(at.get((hole, deck)), bends.get((hole, deck), 0))}"
            + (", the next seat" if next_seat == (hole, deck) else "")
            + (f", framed: {framed[hole, deck]}" if (hole, deck) in framed else "")
            for deck in DECKS
        ]
        lines.append(f"Hole {hole}: {'; '.join(decks)}.")
    return " ".join(lines)


def _plate_words(plate: DrawnPlate | None, steps: int) -> str:
    if plate is None:
        return "empty"
    cents = f" {plate.cents:+.1f} cents" if shows_cents(plate.cents) else ""
    parts = [f"{plate.note}{cents}", plate.breath, f"facing {plate.facing}"]
    if plate.state == "missing":
        parts.append("plate missing")
    elif plate.mount is not None:
        parts.append(f"riveted at the {plate.mount}")
    if steps:
        parts.append(f"bends {_counted(steps, 'semitone')}")
    return ", ".join(parts)


def shows_cents(cents: float) -> bool:
    """Whether an offset is worth showing to a tenth of a cent."""
    return abs(cents) >= 0.05


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" + ("" if count == 1 else "s")
