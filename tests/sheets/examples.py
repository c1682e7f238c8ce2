"""Invented orders, bins and plans to print, and what reads a printed page back."""

import io
from datetime import date
from decimal import Decimal

import numpy as np
import pypdf
import pypdfium2
import zxingcpp

from combwright.allocation.answer import Kitted, Made, Placed, Plan, Served
from combwright.allocation.orders import Copy, Design, KitWant, Order, wants_of
from combwright.allocation.stock import Bin, Stock
from combwright.comb.catalogue import catalogue_layout
from combwright.comb.combs import Chamber, Comb
from combwright.notes.temperament import EQUAL

COMB = Comb(
    "Pearwood ten",
    tuple(Chamber(31.0 - 1.9 * n, 5.0, 4.0) for n in range(10)),
    end_margin_mm=0.5,
    parts={"cover": 2, "screw": 4},
)
VALUE = Decimal("98765.43")


def standard_wants(comb=COMB):
    return wants_of(catalogue_layout("standard"), comb, EQUAL, tonic=0)


def bin_for(want):
    """The bin of one plate kind, named after its note, so that equal notes share a bin."""
    aisle = "A" if want.breath == "blow" else "B"
    return Bin(
        code=f"{aisle}-{want.midi}",
        midi=want.midi,
        cents=0.0,
        slot_mm=round(want.takes_mm - 0.5, 2),
        mount="front" if want.breath == "blow" else "rear",
        batch="lot 7",
        count=99,
        walk=f"{aisle}-{want.midi}",
    )


def placed(want, *, retune=0.0, way="none"):
    return Placed(want, bin_for(want).code, "lot 7", retune, way, Decimal(2))


def served(name, *, copies=1, wants=None, kit=(), row=1, title="", comb=None, **order):
    """A ready order of so many equal instruments."""
    wants = standard_wants() if wants is None else wants
    spares = tuple(KitWant(label, want) for label, want in kit)
    design = Design(wants, spares, COMB.parts, title, comb)
    numbers = range(1, copies + 1)
    made = tuple(
        Made(
            row,
            number,
            tuple(placed(want) for want in wants),
            tuple(Kitted(label, placed(want)) for label, want in kit),
        )
        for number in numbers
    )
    copied = tuple(Copy(row, number, design) for number in numbers)
    given = {"value": VALUE, "due": date(2026, 5, 4), **order}
    return Served(Order(name, copied, **given), made, Decimal(40))


def waiting(name):
    design = Design(standard_wants(), (), COMB.parts)
    return Served(Order(name, (Copy(1, 1, design),)))


def plan_of(*orders):
    zero = Decimal(0)
    return Plan(orders, (), zero, zero, True, zero, zero)


def stock_of(*orders):
    bins = {}
    for order in orders:
        for made in order.made:
            for each in (*made.seats, *(kit.placed for kit in made.kit)):
                bins[each.bin] = bin_for(each.want)
    return Stock(tuple(bins.values()))


def texts(pdf):
    """The text of each page, runs of space as one space."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def pictures(pdf, *, dpi=200):
    """Each page as grey levels, shape (rows, columns)."""
    document = pypdfium2.PdfDocument(pdf)
    shown = [page.render(scale=dpi / 72, grayscale=True).to_numpy() for page in document]
    return [np.ascontiguousarray(picture.reshape(picture.shape[:2])) for picture in shown]


def codes(picture):
    """What each QR code on a page holds, with the middle of it in pixels."""
    found = []
    for code in zxingcpp.read_barcodes(picture):
        corners = code.position
        ends = (corners.top_left, corners.bottom_right)
        middle = tuple(sum(getattr(end, axis) for end in ends) / 2 for axis in "xy")
        found.append((code.text, middle))
    return found
