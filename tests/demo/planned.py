"""A folder of files planned as the command line plans it."""

from collections import Counter

from combwright.allocation.planner import plan
from combwright.allocation.stock import Stock
from combwright.files.combs import read_comb
from combwright.files.orders import read_orders
from combwright.files.parts import read_parts
from combwright.files.rack import read_expected, read_rack
from combwright.files.workshop import read_workshop


def read_folder(folder, *, expected=False):
    """Return stock, orders and workshop; a warning of any file fails."""
    comb = quiet(read_comb(folder / "comb.toml"))
    rack = quiet(read_rack(folder / "rack.csv", comb))
    if expected:
        codes = {each.code for each in rack}
        rack += quiet(read_expected(folder / "expected.csv", codes))
    stock = Stock(rack, quiet(read_parts(folder / "parts.csv")))
    orders = quiet(read_orders(folder / "orders.csv", comb=comb))
    return stock, orders, quiet(read_workshop(folder / "workshop.toml"))


def quiet(read):
    assert read.warnings == ()
    return read.value


def plan_folder(folder, *, expected=False):
    stock, orders, workshop = read_folder(folder, expected=expected)
    return plan(stock, orders, workshop)


def ready_copies(planned):
    """Count the copies that are ready, by order number."""
    return Counter(
        served.order.name for served in planned.served if served.ready for _ in served.made
    )


def placed(planned):
    """Return every plate of the ready orders."""
    return [
        plate
        for served in planned.served
        for made in served.made
        for plate in (*made.seats, *(kitted.placed for kitted in made.kit))
    ]
