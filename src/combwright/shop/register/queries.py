"""Reading the register: lists, one instrument with its plates, and where a batch's plates went."""

from collections.abc import Sequence

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from combwright.shop.rack.models import Batch
from combwright.shop.register.models import Fitted, Instrument


def instruments_found(text: str) -> QuerySet[Instrument]:
    """Return the instruments whose serial number, order, customer or name holds a text."""
    found = Instrument.objects.select_related("order__customer")
    if text:
        found = found.filter(
            Q(serial__icontains=text)
            | Q(order__number__icontains=text)
            | Q(order__customer__name__icontains=text)
            | Q(title__icontains=text)
        )
    return found


def plates_held(instrument: Instrument) -> Sequence[Fitted]:
    """Return the plates of an instrument; of one taken apart, those that it had at the end."""
    now = Q(taken_out_at=None)
    if instrument.taken_apart_at is not None:
        now |= Q(taken_out_at__gte=instrument.taken_apart_at)
    rows = _told(instrument).filter(now)
    # "upper" comes after "lower" in the alphabet, and above it in an instrument.
    return list(rows.order_by("hole", "-deck"))


def plates_gone(instrument: Instrument) -> Sequence[Fitted]:
    """Return the plates that were taken out of an instrument while it was built."""
    rows = _told(instrument).exclude(taken_out_at=None)
    if instrument.taken_apart_at is not None:
        rows = rows.filter(taken_out_at__lt=instrument.taken_apart_at)
    return list(rows.order_by("pk"))


def _told(instrument: Instrument) -> QuerySet[Fitted]:
    rows = Fitted.objects.filter(instrument=instrument)
    return rows.select_related("taken__bin", "taken__plate", "batch", "put_in_by")


def instruments_of_batch(batch: Batch) -> QuerySet[Instrument]:
    """Return the instruments with plates of a batch, newest first: `now` and `earlier` counted.

    They are looked for from the newest on and counted one by one, so that a page of them costs the
    same after many years; how many there are in all is not asked.
    """
    plates = Fitted.objects.filter(instrument=OuterRef("pk"), batch=batch).order_by()
    rows = Instrument.objects.filter(Exists(plates)).select_related("order__customer")
    now, earlier = (plates.filter(taken_out_at__isnull=which) for which in (True, False))
    return rows.annotate(now=_counted(now), earlier=_counted(earlier)).order_by("-pk")


def _counted(plates: QuerySet[Fitted]) -> Coalesce:
    counted = plates.values("instrument").annotate(n=Count("pk")).values("n")
    return Coalesce(Subquery(counted), 0)
