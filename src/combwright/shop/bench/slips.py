"""The packing slip of an order, from what its trays and its instruments hold."""

from collections import Counter
from collections.abc import Iterable

from combwright.notes.names import note_text
from combwright.sheets.packing_slips import PackedLine, PackingSlip, packing_slip_pdf
from combwright.shop.bench.trays import Place, places
from combwright.shop.designs.queries import workshop
from combwright.shop.orders.models import Order
from combwright.shop.plans.models import Taken


def slip_pdf(order: Order) -> bytes:
    """Set the packing slip of an order."""
    customer = order.customer
    instruments = order.instruments.filter(taken_apart_at=None).order_by("wish__row", "copy")
    slip = PackingSlip(
        order=order.number,
        to=(customer.name, *customer.address.splitlines()) if customer else (),
        lines=(
            *(PackedLine(1, each.title, each.serial) for each in instruments),
            *_loose(places([order])),
        ),
        tracking=order.tracking,
    )
    return packing_slip_pdf(slip, workshop=workshop())


def _loose(there: Iterable[Place]) -> list[PackedLine]:
    """Count the plates that go along, those that are there."""
    counted = Counter(
        (each.label or each.name, note_text(each.want.midi, each.want.cents))
        for each in there
        if each.in_kit and each.state == Taken.PICKED
    )
    return [PackedLine(n, f"{label}: {note}") for (label, note), n in counted.items()]
