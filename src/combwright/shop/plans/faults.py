"""The proof that what is set aside is backed: no plate is lost, doubled or in two places."""

from collections.abc import Iterator

from django.db.models import Count, F, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce

from combwright.shop.orders.states import State
from combwright.shop.plans.models import Taken
from combwright.shop.rack.models import Bin, Item

#: In which states an order may have plates in which state.
ALLOWED = {
    Taken.ASIDE: (State.ASIDE, State.PICKING, State.BENCH),
    Taken.PICKED: (State.PICKING, State.BENCH, State.BUILT, State.SENT),
    Taken.FITTED: (State.BENCH, State.BUILT, State.SENT),
}


def faults() -> Iterator[str]:
    """Give a line for everything that does not add up; none, unless there is a bug."""
    yield from _bins()
    yield from _items()
    for state, allowed in ALLOWED.items():
        wrong = Taken.objects.filter(state=state).exclude(
            order__state__in=[s.value for s in allowed]
        )
        for each in wrong.select_related("order"):
            yield f"{each} is {state}, but its order is {each.order.state}"


def _bins() -> Iterator[str]:
    lying = Taken.objects.filter(bin=OuterRef("pk"), state=Taken.ASIDE).order_by()
    counted = lying.values("bin").annotate(n=Count("pk")).values("n")
    bins = Bin.objects.annotate(taken_now=Coalesce(Subquery(counted), 0))
    for each in bins.exclude(aside=F("taken_now")):
        yield f"bin {each.code} has {each.aside} set aside, but orders hold {each.taken_now}"


def _items() -> Iterator[str]:
    unused = Q(taken__used=False)
    items = Item.objects.annotate(taken_now=Coalesce(Sum("taken__count", filter=unused), 0))
    for each in items.exclude(aside=F("taken_now")):
        yield f"item {each.code} has {each.aside} set aside, but orders hold {each.taken_now}"
