"""Numbers and short words as the sheets print them."""

from datetime import date

from combwright.allocation.answer import Placed
from combwright.allocation.orders import Want
from combwright.comb.seats import USUAL_DECK, side_of_reed
from combwright.notes.pitch import hertz

MINUS = "\u2212"


def signed(value: float, places: int = 1) -> str:
    """Write cents with their sign, to a tenth as a rule; what rounds to nothing carries no sign."""
    text = f"{value:+.{places}f}"
    return text[1:] if float(text) == 0 else text.replace("-", MINUS)


def hertz_text(want: Want) -> str:
    """Write the wanted pitch in hertz, to a hundredth."""
    return f"{float(hertz(want.midi, want.cents)):.2f}"


def millimetres(value: float | None) -> str:
    """Write a measured length, nothing where it is not known."""
    return "" if value is None else f"{value:g} mm"


def seat_text(want: Want) -> str:
    """Name a seat briefly: `3 blow`, and `3 upper draw` where the deck is not the usual one."""
    if want.deck == USUAL_DECK[want.breath]:
        return f"{want.hole} {want.breath}"
    return f"{want.hole} {want.deck} {want.breath}"


def reed_side(want: Want) -> str:
    """Say which way the side with the reed looks, the comb lying the right way up."""
    return "down" if side_of_reed(want.deck, want.facing) == "underside" else "up"


def how(placed: Placed) -> str:
    """Say how a plate reaches its pitch: filing the tip raises, filing the root lowers."""
    match placed.way:
        case "weight":
            return "lower: weight"
        case "file":
            return "raise: file tip" if placed.retune_cents > 0 else "lower: file root"
        case _:
            return "as it is" if signed(placed.retune_cents) == "0.0" else "touch up"


def day(value: date | None) -> str:
    """Write a date the long way round, nothing where there is none."""
    return "" if value is None else value.isoformat()


def counted(count: int, noun: str) -> str:
    """Write a number with its noun."""
    return f"{count} {noun}" + ("" if count == 1 else "s")
