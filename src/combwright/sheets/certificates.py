"""The certificate of an instrument: what it is, and every plate it holds."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from combwright.allocation.workshop import Workshop
from combwright.comb.combs import Comb
from combwright.notes.pitch import hertz
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.codes import qr_code
from combwright.sheets.drawing import comb_svg
from combwright.sheets.figures import day, signed
from combwright.sheets.geometry import geometry_of
from combwright.sheets.plates import DrawnPlate, bends_of_plates
from combwright.sheets.typeset import Press, on_one_line, pages, shortened

#: Marks a reading with the covers off, which lower a reed a little when they are put on.
_OFF = "*"
_DECK_HEIGHT = 100.0
_FULL_WIDTH = 1072.0


@dataclass(frozen=True, slots=True)
class Vouched:
    """What was last heard of a reed in its seat.

    Parameters
    ----------
    cents, half : float
        How far above its target, and half the width in which it lies with 95 % certainty.
    covered : bool
        Whether the covers were on.
    by : str
        Who measured.
    on : date
        When.
    temperature : Decimal or None
        In degrees Celsius.
    unsure : bool
        Whether it may have been another seat's note.
    """

    cents: float
    half: float
    covered: bool
    by: str
    on: date
    temperature: Decimal | None = None
    unsure: bool = False


@dataclass(frozen=True, slots=True)
class HeldPlate:
    """A plate in its seat, its batch, its bin, its own label and its reading if it has them."""

    drawn: DrawnPlate
    batch: str
    bin: str
    label: str = ""
    vouched: Vouched | None = None


@dataclass(frozen=True, slots=True)
class Certificate:
    """What a certificate says.

    Parameters
    ----------
    serial, title : str
        Of the instrument; the serial number is held by the QR code as well.
    comb : Comb
        What it is built on.
    plates : sequence of HeldPlate
        At least one.
    finished : date or None
        The day it was built.
    """

    serial: str
    title: str
    comb: Comb
    plates: Sequence[HeldPlate]
    finished: date | None = None


def certificate_pdf(said: Certificate, *, workshop: Workshop, shared: Press | None = None) -> bytes:
    """Set a certificate.

    Raises
    ------
    BadSheet
        If the instrument holds no plate yet.
    """
    if not said.plates:
        raise BadSheet(f"Instrument {said.serial!r} holds no plate yet; build it first.")
    held = sorted(said.plates, key=lambda each: (each.drawn.hole, each.drawn.deck == "lower"))
    drawn = [each.drawn for each in held]
    title = on_one_line(said.title)
    data = {
        "paper": workshop.paper,
        "serial": on_one_line(said.serial),
        "title": title,
        "running": shortened(f"{said.serial}, {title}", 80),
        "qr": qr_code(said.serial).svg,
        "finished": day(said.finished),
        "comb": on_one_line(said.comb.title),
        "svg": comb_svg(
            said.comb, drawn, bends=bends_of_plates(drawn), title=title, ground=False,
            deck_height=_DECK_HEIGHT,
        ),
        "share": min(1.0, geometry_of(said.comb, drawn).width / _FULL_WIDTH),
        "seats": [_row(each) for each in held],
        "labels": any(each.label for each in held),
        "heard": on_one_line(_heard_line([e.vouched for e in held if e.vouched is not None])),
    }  # fmt: skip
    return pages("certificate", data, shared)


def _row(held: HeldPlate) -> dict[str, object]:
    plate = held.drawn
    return {
        "hole": plate.hole,
        "deck": plate.deck,
        "breath": plate.breath,
        "facing": plate.facing,
        "note": plate.note,
        "cents": signed(plate.cents),
        "hertz": f"{float(hertz(plate.midi, plate.cents)):.2f}",
        "batch": on_one_line(held.batch),
        "bin": on_one_line(held.bin),
        "label": on_one_line(held.label),
        "heard": "" if held.vouched is None else _heard(held.vouched),
    }


def _heard(said: Vouched) -> str:
    """Write a reading; one with the covers off, or one that is unsure, is marked."""
    marks = ("" if said.covered else _OFF) + ("?" if said.unsure else "")
    return f"{signed(said.cents)} \u00b1 {max(0.1, said.half):.1f}{marks}"


def _heard_line(said: Sequence[Vouched]) -> str:
    """Say of all readings together who heard them, when, how warm it was and how sure they are."""
    if not said:
        return ""
    parts = ["Heard: cents above the target, \u00b1 with 95 % certainty"]
    if not all(each.covered for each in said):
        covers = (
            f"covers on, {_OFF} off" if any(each.covered for each in said) else f"{_OFF} covers off"
        )
        parts.append(covers)
    else:
        parts.append("covers on")
    if any(each.unsure for each in said):
        parts.append("? perhaps of another seat")
    parts.append("by " + ", ".join(sorted({each.by for each in said})))
    parts.append(_from_to(sorted(day(each.on) for each in said), ""))
    warmth = sorted(each.temperature for each in said if each.temperature is not None)
    if warmth:
        parts.append(_from_to([f"{each:.1f}" for each in warmth], " \u00b0C"))
    return "; ".join(parts) + "."


def _from_to(ordered: Sequence[str], unit: str) -> str:
    first, last = ordered[0], ordered[-1]
    return f"{first}{unit}" if first == last else f"{first} to {last}{unit}"
