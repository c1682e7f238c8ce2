"""Lines that say what a seat becomes, or which plate goes along: `5 draw=F#5`, `3 lower=Bb4 draw`.

Changes and kits are both written in them, several in one text parted by semicolons.
"""

from dataclasses import dataclass
from typing import cast

from combwright.comb.layouts import Layout
from combwright.comb.seat_names import SeatName, named_seat, parse_seat_name
from combwright.comb.seats import BREATHS, BadSeat, Breath, NoSuchHole, Seat
from combwright.errors import CombwrightError
from combwright.notes.names import Note, parse_note


class BadChange(CombwrightError):
    """A change, or a line of a kit, that cannot be read or done."""

    def __init__(self, text: str, reason: str) -> None:
        super().__init__(f"{text!r}: {reason.rstrip('.')}.")


@dataclass(frozen=True, slots=True)
class SeatLine:
    """One line as written.

    Parameters
    ----------
    text : str
        The line.
    name : SeatName
        The seat left of the equals sign.
    assigns : bool
        Whether there is an equals sign at all.
    note : Note or None
        None for `none`, or where nothing is assigned.
    breath : {"blow", "draw"} or None
        Named left or right; None where neither says.
    """

    text: str
    name: SeatName
    assigns: bool
    note: Note | None
    breath: Breath | None


def read_lines(text: str) -> tuple[SeatLine, ...]:
    """Read lines parted by semicolons; an empty text gives none.

    Raises
    ------
    BadChange
        If one of them cannot be read.
    """
    return tuple(_line(part.strip()) for part in text.split(";") if part.strip())


def reed_there(layout: Layout, name: SeatName, text: str) -> Seat | None:
    """Return the reed in a named seat, None when there is none.

    Raises
    ------
    BadChange
        If the layout has no such hole, or if both reeds of the hole answer to the name.
    """
    try:
        return named_seat(layout, name)
    except (BadSeat, NoSuchHole) as error:
        raise BadChange(text, str(error)) from error


def _line(text: str) -> SeatLine:
    left, equals, right = text.partition("=")
    try:
        name = parse_seat_name(left)
    except BadSeat as error:
        raise BadChange(text, str(error)) from error
    if not equals:
        return SeatLine(text, name, False, None, name.breath)
    note, breath = _pitch(right, text)
    if name.breath and breath and breath != name.breath:
        raise BadChange(
            text,
            f"{name} cannot speak on {breath}; to turn a plate over name its deck, "
            f"as in {name.hole} upper=G4 {breath}",
        )
    return SeatLine(text, name, True, note, name.breath or breath)


def _pitch(right: str, text: str) -> tuple[Note | None, Breath | None]:
    if "=" in right:
        raise BadChange(text, "there is more than one '='; part two lines with a semicolon")
    words = right.split()
    breath = cast("Breath", words.pop().lower()) if words and words[-1].lower() in BREATHS else None
    written = " ".join(words)
    if written.lower() == "none":
        return None, breath
    try:
        return parse_note(written), breath
    except CombwrightError as error:
        raise BadChange(text, str(error)) from error
