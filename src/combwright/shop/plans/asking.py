"""What a plan is made from: the orders to plan, the stock that is free, and what stays set aside.

Orders whose plates are set aside are planned anew with the open ones; the planner is told what they
hold and moves as few of it as it can. Orders further on keep theirs: for them nothing is free.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Any, Final

from django.db.models import Count, Max, Prefetch, Q, QuerySet, Sum

from combwright.allocation.answer import Reservation
from combwright.allocation.orders import Design
from combwright.allocation.orders import Order as PlannedOrder
from combwright.allocation.reservations import place_name
from combwright.allocation.stock import Bin as StockBin
from combwright.allocation.stock import Part, Stock
from combwright.shop.designs.models import DesignVersion
from combwright.shop.designs.queries import workshop
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import State
from combwright.shop.plans.models import Taken, TakenPart
from combwright.shop.rack.models import Bin, Change, Entry, Item

#: Orders in these states are planned; those further on are not touched any more.
PLANNED: Final = (State.OPEN.value, State.ASIDE.value)


@dataclass(frozen=True, slots=True)
class Question:
    """What a plan is asked beside the shop as it is: nothing of it is written anywhere.

    Parameters
    ----------
    without, promised : frozenset of str
        Numbers of orders to leave out, and to promise.
    expected : tuple of StockBin
        Plates to reckon with that are not there yet, each with the day it arrives.
    """

    without: frozenset[str] = frozenset()
    promised: frozenset[str] = frozenset()
    expected: tuple[StockBin, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """A planner's question in full, and the versions of the orders that it was asked about.

    Parameters
    ----------
    left_out : dict of str to int
        The versions of the orders that the question leaves out.
    mark : str
        Tells one state of the shop from another, whatever was asked about it.
    entry, change : int
        The newest of the ledger and of the rack's changes that may be in it.
    """

    stock: Stock
    orders: tuple[PlannedOrder, ...]
    keep: tuple[Reservation, ...]
    versions: dict[str, int]
    left_out: dict[str, int]
    mark: str
    entry: int
    change: int

    @property
    def said(self) -> dict[str, Any]:
        """What is kept of it beside the answer."""
        return {
            "versions": self.versions, "left_out": self.left_out, "mark": self.mark,
            "entry": self.entry, "change": self.change,
        }  # fmt: skip


def asked(question: Question = Question()) -> Asked:
    """Read from the shop what a plan is made from; a constant number of queries.

    Raises
    ------
    BadWishRow
        If a wish can no longer be read, as when a layout was retired and is gone.
    """
    # Read first: what is booked while the rest is read then counts as newer than the plan.
    entry, change = newest_entry(), newest_change()
    everything = list(orders_to_plan())
    bins, parts, keep = free_bins(), free_parts(), reservations()
    orders = [each for each in everything if each.number not in question.without]
    reader, pins = Reader(), pinned_places()
    planned = [_without(reader.planned(each), pins) for each in orders]
    return Asked(
        stock=Stock((*bins, *question.expected), parts),
        orders=tuple(
            replace(each, promised=True) if each.name in question.promised else each
            for each in planned
        ),
        keep=keep,
        versions={each.number: each.version for each in orders},
        left_out={
            each.number: each.version for each in everything if each.number in question.without
        },
        mark=_mark(bins, parts, keep, [(each.number, each.version) for each in everything]),
        entry=entry,
        change=change,
    )


def newest_entry() -> int:
    """Return the key of the ledger's newest entry; 0 while it is empty."""
    return Entry.objects.aggregate(newest=Max("pk"))["newest"] or 0


def newest_change() -> int:
    """Return the key of the newest change of a bin's or an item's facts; 0 without any."""
    return Change.objects.aggregate(newest=Max("pk"))["newest"] or 0


def _mark(*facts: object) -> str:
    design = DesignVersion.objects.aggregate(newest=Max("pk"))["newest"]
    return sha256(repr((*facts, workshop(), design)).encode()).hexdigest()


def orders_to_plan() -> QuerySet[Order]:
    """Return the orders that a plan decides on, in the order of their making, with their wishes."""
    wishes = Prefetch("wishes", Wish.objects.select_related("order").order_by("row"))
    return Order.objects.filter(state__in=PLANNED).prefetch_related(wishes).order_by("pk")


def free_bins() -> tuple[StockBin, ...]:
    """Return every bin with the plates that a plan may give to an order."""
    beyond = _beyond_plans()
    bins = Bin.objects.select_related("batch").filter(count__gt=0)
    return tuple(replace(each.as_stock(), count=each.count - beyond[each.pk]) for each in bins)


def unclaimed_bins(midis: Iterable[int]) -> tuple[StockBin, ...]:
    """Return the bins of some notes with the plates that nothing is set aside of."""
    bins = Bin.objects.select_related("batch").filter(midi__in=set(midis), count__gt=0)
    return tuple(replace(each.as_stock(), count=each.count - each.aside) for each in bins)


def _beyond_plans() -> Counter[int]:
    """Return how many plates of each bin are set aside and not moved by any plan."""
    movable = Q(order__state__in=PLANNED, pinned=False)
    held = Taken.objects.filter(state=Taken.ASIDE).exclude(movable)
    return Counter(dict(held.values_list("bin_id").annotate(n=Count("pk")).order_by()))


def free_parts() -> dict[str, Part] | None:
    """Return what a plan may use of each part; None while the shop keeps no parts at all."""
    items = list(Item.objects.filter(kind=Item.PART))
    if not items:
        return None
    held = TakenPart.objects.filter(used=False).exclude(order__state__in=PLANNED)
    beyond = dict(held.values_list("item_id").annotate(n=Sum("count")).order_by())
    parts: dict[str, Part] = {}
    for each in items:
        free = 0 if each.held else each.count - beyond.get(each.pk, 0)
        known = parts.get(each.part)
        # Of one part from several places the dearest price counts: a plan must not promise less.
        cost = max(each.cost, known.cost) if known else each.cost
        parts[each.part] = Part(each.part, free + (known.count if known else 0), cost)
    return parts


def reservations() -> tuple[Reservation, ...]:
    """Return the plates that are set aside and that a plan may move, if it must."""
    rows = Taken.objects.filter(state=Taken.ASIDE, order__state=State.ASIDE, pinned=False)
    fields = ("order__number", "wish__row", "copy", "place", "bin__code", "batch__code")
    return tuple(Reservation(*row) for row in rows.order_by("pk").values_list(*fields))


def pinned_places() -> dict[tuple[str, int, int], frozenset[str]]:
    """Return the seats whose plates no plan may move: by order's number, row and copy."""
    rows = Taken.objects.filter(state=Taken.ASIDE, pinned=True, order__state=State.ASIDE)
    found: dict[tuple[str, int, int], set[str]] = {}
    for number, row, copy, place in rows.values_list("order__number", "wish__row", "copy", "place"):
        found.setdefault((number, row, copy), set()).add(place)
    return {key: frozenset(places) for key, places in found.items()}


def _without(
    order: PlannedOrder, pins: Mapping[tuple[str, int, int], frozenset[str]]
) -> PlannedOrder:
    """Return an order without the seats whose plates are pinned: the planner need not fill them."""
    copies = tuple(
        replace(copy, design=_less(copy.design, pins.get((order.name, copy.row, copy.copy))))
        for copy in order.copies
    )
    return replace(order, copies=copies)


def _less(design: Design, places: frozenset[str] | None) -> Design:
    if not places:
        return design
    seats = (want for n, want in enumerate(design.seats) if place_name(design, n) not in places)
    return replace(design, seats=tuple(seats))
