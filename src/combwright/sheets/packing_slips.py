"""The packing slip: what is in the parcel, for whoever packs it and whoever opens it."""

from collections.abc import Sequence
from dataclasses import dataclass

from combwright.allocation.workshop import Workshop
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.codes import qr_code
from combwright.sheets.typeset import Press, on_one_line, pages, shortened


@dataclass(frozen=True, slots=True)
class PackedLine:
    """So many of one thing; an instrument has a serial number."""

    count: int
    name: str
    serial: str = ""


@dataclass(frozen=True, slots=True)
class PackingSlip:
    """A parcel.

    Parameters
    ----------
    order : str
        The order's number, held by the QR code as well.
    to : tuple of str
        Name and address, line by line; may be empty.
    lines : tuple of PackedLine
        At least one.
    tracking : str
        Who carries it, when known.
    """

    order: str
    to: tuple[str, ...]
    lines: Sequence[PackedLine]
    tracking: str = ""


def packing_slip_pdf(
    slip: PackingSlip, *, workshop: Workshop, shared: Press | None = None
) -> bytes:
    """Set a packing slip; prices are none of its business.

    Raises
    ------
    BadSheet
        If nothing is in the parcel, or the order's number is too long for a QR code.
    """
    if not slip.lines:
        raise BadSheet(f"Order {slip.order!r} has nothing to pack yet; build it first.")
    data = {
        "paper": workshop.paper,
        "order": on_one_line(slip.order),
        "running": shortened(slip.order, 70),
        "qr": qr_code(slip.order).svg,
        "to": [on_one_line(line) for line in slip.to if line.strip()],
        "tracking": on_one_line(slip.tracking),
        "lines": [
            {
                "count": each.count,
                "name": on_one_line(each.name),
                "serial": on_one_line(each.serial),
            }
            for each in slip.lines
        ],
    }
    return pages("packing-slip", data, shared)
