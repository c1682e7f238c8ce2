"""Reading the register: lists, one instrument with its plates, and where a batch's plates went."""

from collections.abc import Sequence

from django.db.models import Count, Q, QuerySet

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
    """Return the instruments with plates of a batch, newest first: `now` and `earlier` counted."""
    now = Q(fitted__batch=batch, fitted__taken_out_at=None)
    rows = Instrument.objects.filter(fitted__batch=batch).select_related("order__customer")
    gone = Q(fitted__batch=batch, fitted__taken_out_at__isnull=False)
    counted = rows.annotate(now=Count("fitted", filter=now), earlier=Count("fitted", filter=gone))
    return counted.order_by("-pk")
