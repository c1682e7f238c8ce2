"""The plan: which orders ship, and the plate of every seat."""

from collections.abc import Callable, Sequence

from combwright.allocation.answer import Plan, Reservation
from combwright.allocation.orders import Order
from combwright.allocation.stock import Stock
from combwright.allocation.workshop import Workshop

#: Told what is being done and which share of it, 0 to 1.
Progress = Callable[[str, float], None]


def plan(
    stock: Stock,
    orders: Sequence[Order],
    workshop: Workshop = Workshop(),  # noqa: B008 (frozen)
    *,
    seconds: float = 60.0,
    keep: Sequence[Reservation] = (),
    progress: Progress | None = None,
) -> Plan:
    """To be written next."""
    raise NotImplementedError
