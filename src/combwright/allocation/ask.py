"""Can this wish be built now, and if not, what is missing?"""

from collections.abc import Sequence

from combwright.allocation.answer import Buildable, Reservation
from combwright.allocation.orders import Design
from combwright.allocation.stock import Stock
from combwright.allocation.workshop import Workshop


def can_build(
    stock: Stock,
    design: Design,
    workshop: Workshop = Workshop(),  # noqa: B008 (frozen)
    *,
    keep: Sequence[Reservation] = (),
) -> Buildable:
    """To be written next."""
    raise NotImplementedError
