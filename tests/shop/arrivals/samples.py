"""What the tests of measured samples begin with: a batch in some bins, and a sample of it."""

from decimal import Decimal

from combwright.inspection.plans import Plan
from combwright.shop.arrivals import actions
from combwright.shop.rack.models import Batch, Bin
from shop.rack.shelves import a_bin, somebody


def a_batch(*counts, code="b1"):
    for n, plates in enumerate(counts, start=1):
        a_bin(f"{code}-{n}", plates, batch=code)
    return Batch.objects.get(code=code)


def chosen(lot, sample, accept, *, tolerance=10_000):
    return actions.Chosen(
        Plan(lot, sample, accept), tolerance, Decimal(2), Decimal(15), Decimal(5), Decimal(10)
    )


def a_sample(batch, lot=20, sample=6, accept=1, *, seed=5, **more):
    return actions.start(somebody("maker"), batch, chosen(lot, sample, accept, **more), seed=seed)


def unmeasured(inspection):
    """Give a bin of the sample for each plate that is still to be measured."""
    for draw in inspection.draws.all():
        taken = inspection.readings.filter(bin=draw.bin, struck_at=None).count()
        for _ in range(draw.plates - taken):
            yield Bin.objects.get(pk=draw.bin_id)


def measure(inspection, *plates, person=None):
    """Read so many plates, `None` for a broken one; return the inspection as it is then."""
    for cents, plate_bin in zip(plates, list(unmeasured(inspection)), strict=False):
        actions.add_reading(
            inspection, plate_bin, person or somebody("maker"), cents=cents, broken=cents is None
        )
    inspection.refresh_from_db()
    return inspection
