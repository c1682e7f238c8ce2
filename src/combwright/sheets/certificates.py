"""The certificate of an instrument: what it is, and every plate it holds."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

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

_DECK_HEIGHT = 100.0
_FULL_WIDTH = 1072.0


@dataclass(frozen=True, slots=True)
class HeldPlate:
    """A plate in its seat, its batch, the bin it came from, and its own label if it has one."""

    drawn: DrawnPlate
    batch: str
    bin: str
    label: str = ""


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
    }
