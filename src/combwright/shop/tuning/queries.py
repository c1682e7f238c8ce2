"""Reading what is to be tuned, and what was heard lately."""

from collections.abc import Sequence

from django.db.models import OuterRef, QuerySet, Subquery

from combwright.shop.orders.states import State
from combwright.shop.register.models import Heard, Instrument

#: The states in which an instrument lies on the bench or waits to be sent.
_AT_HAND = (State.BENCH, State.BUILT)


def to_tune() -> QuerySet[Instrument]:
    """Return the instruments that lie on the bench or wait to be sent, oldest first."""
    rows = Instrument.objects.filter(taken_apart_at=None, order__state__in=_AT_HAND)
    last = Heard.objects.filter(instrument=OuterRef("pk")).order_by("-pk").values("at")[:1]
    return rows.select_related("order__customer").annotate(heard_last=Subquery(last)).order_by("pk")


def lately(instrument: Instrument, most: int) -> Sequence[Heard]:
    """Return single readings of an instrument, newest first, struck ones among them."""
    rows = Heard.objects.filter(instrument=instrument, take=None).select_related("by", "struck_by")
    return list(rows.order_by("-pk")[:most])
