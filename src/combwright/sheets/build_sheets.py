"""The build sheet: everything the bench needs to know of one order, and nothing it need not."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Final

from combwright.allocation.workshop import Workshop
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.bench_words import CAUTIONS, steps_for
from combwright.sheets.codes import qr_code
from combwright.sheets.drawing import comb_svg
from combwright.sheets.figures import day, hertz_text, how, millimetres, reed_side, signed
from combwright.sheets.geometry import geometry_of
from combwright.sheets.order_sheets import CopySheet, OrderSheet, PlateLine
from combwright.sheets.plates import bends_of_plates
from combwright.sheets.typeset import Press, on_one_line, pages, shortened

#: Lower than on a screen, so that an ordinary order fits one page.
_DECK_HEIGHT: Final = 100.0
#: Fine enough to print anywhere, coarse enough for any camera.
_MODULE_MM: Final = 0.55
#: A drawing of ten holes fills the page's width.
_FULL_WIDTH: Final = 1072.0


def build_sheet_pdf(sheet: OrderSheet, *, workshop: Workshop, shared: Press | None = None) -> bytes:
    """Set the build sheet of one order; `shared` is a press to share among many sheets.

    Raises
    ------
    BadSheet
        If the order has no copies, or its number is empty or too long for a QR code.
    """
    if not sheet.copies:
        raise BadSheet(f"Order {sheet.order!r} has nothing to build; give it a copy.")
    lines = [line for copy in sheet.copies for line in _lines(copy)]
    code = qr_code(sheet.order)
    data = {
        "paper": workshop.paper,
        "order": on_one_line(sheet.order),
        "running": shortened(sheet.order, 70),
        "qr": code.svg,
        "qr_mm": min(40.0, max(18.0, _MODULE_MM * code.modules)),
        "facts": _facts(sheet),
        "waits": day(sheet.arrives),
        "designs": [_design(copies, len(sheet.copies)) for copies in _by_design(sheet.copies)],
        "steps": steps_for(
            instruments=any(copy.seats for copy in sheet.copies),
            retunes=sum(line.placed.way != "none" for line in lines),
            kit=sum(len(copy.kit) for copy in sheet.copies),
        ),
        "cautions": CAUTIONS,
    }
    return pages("build-sheet", data, shared)


def _lines(copy: CopySheet) -> Iterator[PlateLine]:
    yield from copy.seats
    yield from (kit.plate for kit in copy.kit)


def _facts(sheet: OrderSheet) -> list[list[str]]:
    facts = [
        ["due", day(sheet.due) or "no date"],
        ["priority", f"{sheet.priority}, promised" if sheet.promised else str(sheet.priority)],
        ["copies", sheet.part or str(len(sheet.copies))],
    ]
    combs = list(dict.fromkeys(on_one_line(copy.comb.title) for copy in sheet.copies))
    parts = ", ".join(f"{count} {name}" for name, count in _parts(sheet.copies))
    return [*facts, ["comb", ", ".join(combs)], *([["parts", parts]] if parts else [])]


def _by_design(copies: Iterable[CopySheet]) -> Iterator[list[CopySheet]]:
    """Group copies whose drawing would show the same notes in the same seats."""

    def design(copy: CopySheet) -> object:
        wants = [line.placed.want for line in copy.seats]
        return copy.comb, copy.wish, wants

    for _, group in groupby(copies, key=design):
        yield list(group)


def _design(copies: Sequence[CopySheet], of: int) -> dict[str, object]:
    first = copies[0]
    plates = [line.drawn for line in first.seats]
    name = on_one_line(first.wish) or ("Instrument" if plates else "Loose plates")
    svg = ""
    if plates:
        svg = comb_svg(
            first.comb,
            plates,
            bends=bends_of_plates(plates),
            title=name,
            ground=False,
            deck_height=_DECK_HEIGHT,
        )
    return {
        "title": name,
        "svg": svg,
        "share": min(1.0, geometry_of(first.comb, plates).width / _FULL_WIDTH),
        "alike": len(copies) if plates else 1,
        "copies": [_copy(copy, of) for copy in copies],
    }


def _copy(copy: CopySheet, of: int) -> dict[str, object]:
    return {
        "title": f"Row {copy.row}, copy {copy.copy}" if of > 1 else "",
        "seats": [_plate_row(line) for line in copy.seats],
        "kit": [{"label": on_one_line(kit.label), **_plate_row(kit.plate)} for kit in copy.kit],
    }


def _plate_row(line: PlateLine) -> dict[str, object]:
    placed, want = line.placed, line.placed.want
    return {
        "hole": want.hole,
        "deck": want.deck,
        "breath": want.breath,
        "bin": on_one_line(placed.bin),
        "batch": on_one_line(placed.batch),
        "mount": line.mount or "",
        "slot": millimetres(line.slot_mm),
        "facing": want.facing,
        "side": reed_side(want),
        "note": want.note,
        "hertz": hertz_text(want),
        "cents": signed(want.cents),
        "retune": signed(placed.retune_cents),
        "how": how(placed),
        "work": placed.way != "none",
    }


def _parts(copies: Iterable[CopySheet]) -> list[tuple[str, int]]:
    total: dict[str, int] = {}
    for copy in copies:
        for name, count in copy.parts.items():
            total[name] = total.get(name, 0) + count
    return [(on_one_line(name), count) for name, count in total.items() if count]
