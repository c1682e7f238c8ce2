"""What lies in the trays of some orders and what is still to come, read for the bench's pages."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final, cast

from django.db.models import Count, Q, QuerySet

from combwright.allocation.answer import Placed
from combwright.allocation.orders import Design, Want
from combwright.allocation.reservations import place_name, wants_in
from combwright.allocation.walking import natural_key
from combwright.allocation.workshop import Way
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import State
from combwright.shop.plans.models import Taken
from combwright.shop.rack.models import Bin

#: The states that the bench works on, in the order of work.
STATES: Final = (State.ASIDE, State.PICKING, State.BENCH, State.BUILT)
_MILLICENTS_PER_CENT: Final = 1000


@dataclass(frozen=True, slots=True)
class Place:
    """A seat of a copy, or a plate of its kit, and the plate that it has now.

    Parameters
    ----------
    wish : Wish
        Its row; the order is loaded with it.
    copy : int
        Which copy of the row.
    name : str
        `3 upper blow`, `kit 1`.
    label : str
        What the customer calls a kit's plate.
    want : Want
        What it wants.
    taken : Taken or None
        Its plate; when it is gone and no other was chosen, the one that is gone.
    alone : bool
        Whether the order is this copy only, so that its number names the tray.
    """

    wish: Wish
    copy: int
    name: str
    label: str
    want: Want
    taken: Taken | None
    alone: bool

    @property
    def order(self) -> Order:
        """Whose it is."""
        return self.wish.order

    @property
    def tray(self) -> str:
        """The tray that the plate goes into."""
        number = self.order.number
        return number if self.alone else f"{number} / {self.wish.row}.{self.copy}"

    @property
    def in_kit(self) -> bool:
        """Whether it goes along loose."""
        return self.name.startswith("kit")

    @property
    def state(self) -> str:
        """The state of its plate; `gone` where it has none."""
        return Taken.GONE if self.taken is None else self.taken.state

    @property
    def lacking(self) -> bool:
        """Whether another plate is to be chosen."""
        return self.state == Taken.GONE

    @property
    def there(self) -> bool:
        """Whether its plate has left the rack for it."""
        return self.state in (Taken.PICKED, Taken.FITTED)

    @property
    def done(self) -> bool:
        """Whether nothing is left to be done at the bench."""
        return self.state == (Taken.PICKED if self.in_kit else Taken.FITTED)

    @property
    def key(self) -> str:
        """What the seat is called in an address: `3-upper`."""
        return f"{self.want.hole}-{self.want.deck}"

    @property
    def placed(self) -> Placed | None:
        """Its plate as the sheets know it."""
        if self.taken is None:
            return None
        return placed_of(self.taken, self.want)


def placed_of(taken: Taken, want: Want) -> Placed:
    """Return a taken plate as the sheets know it; its bin and batch must be loaded."""
    return Placed(
        want, taken.bin.code, taken.batch.code, taken.retune_mc / _MILLICENTS_PER_CENT,
        cast("Way", taken.way), taken.cost,
    )  # fmt: skip


def places(orders: Iterable[Order], reader: Reader | None = None) -> list[Place]:
    """Return all places of some orders, in the order of their numbers and rows; few queries.

    How many queries it takes depends on the layouts and combs that are used, on nothing else.
    """
    keys = [each.pk for each in orders]
    reader = reader or Reader()
    rows = Wish.objects.filter(order__in=keys).select_related("order", "order__customer")
    wishes = list(rows.order_by("order_id", "row"))
    now = _plates_now(keys)
    copies: dict[int, int] = {}
    for row in wishes:
        copies[row.order_id] = copies.get(row.order_id, 0) + row.quantity
    return [
        Place(
            row, copy, name, label, want, now.get((row.pk, copy, name)), copies[row.order_id] == 1
        )
        for row in wishes
        for design in [reader.design(row)]
        for copy in range(1, row.quantity + 1)
        for name, label, want in _named(design)
    ]


def _named(design: Design) -> list[tuple[str, str, Want]]:
    labels = [*[""] * len(design.seats), *(each.label for each in design.kit)]
    wants = wants_in(design)
    return [(place_name(design, n), labels[n], want) for n, want in enumerate(wants)]


def _plates_now(orders: Sequence[int]) -> dict[tuple[int, int, str], Taken]:
    """Return each place's plate; of those that are gone the newest, where no other is there."""
    rows = Taken.objects.filter(order__in=orders).select_related("bin__batch", "batch", "plate")
    now: dict[tuple[int, int, str], Taken] = {}
    for each in rows.order_by("pk"):
        key = (each.wish_id, each.copy, each.place)
        if key not in now or each.state != Taken.GONE or now[key].state == Taken.GONE:
            now[key] = each
    return now


@dataclass(frozen=True, slots=True)
class Stop:
    """A bin on the walk, and what is taken from it."""

    bin: Bin
    places: tuple[Place, ...]

    @property
    def left(self) -> int:
        """How many plates are still to be taken here."""
        return sum(each.state == Taken.ASIDE for each in self.places)


def stops(places: Iterable[Place]) -> list[Stop]:
    """Return the walk through the racks: the bins of the plates set aside or picked, in order."""
    by_bin: dict[int, list[Place]] = {}
    for each in places:
        if each.taken is not None and each.state in (Taken.ASIDE, Taken.PICKED):
            by_bin.setdefault(each.taken.bin_id, []).append(each)
    walk = [
        Stop(there[0].taken.bin, tuple(there))
        for there in by_bin.values()
        if there[0].taken is not None
    ]
    return sorted(walk, key=lambda stop: _along_the_walk(stop.bin))


def _along_the_walk(plate_bin: Bin) -> tuple[Any, ...]:
    """As `walk_key` sorts the planner's bins."""
    return (not plate_bin.walk, natural_key(plate_bin.walk), natural_key(plate_bin.code))


def at_the_bench(state: str) -> QuerySet[Order]:
    """Return the orders in a state, what is due first."""
    found = Order.objects.filter(state=state).select_related("customer")
    return found.order_by("due", "priority", "pk")


def how_many() -> dict[str, int]:
    """Return how many orders each of the bench's states has."""
    rows = Order.objects.filter(state__in=[each.value for each in STATES]).order_by()
    counted = dict(rows.values_list("state").annotate(n=Count("pk")))
    return {each.value: counted.get(each.value, 0) for each in STATES}


@dataclass(frozen=True, slots=True)
class Far:
    """How far some order's plates are."""

    total: int
    picked: int
    seated: int


def how_far(orders: Iterable[Order]) -> dict[int, Far]:
    """Return how far the plates of some orders are; one query."""
    rows = Taken.objects.filter(order__in=[each.pk for each in orders]).order_by()
    rows = rows.exclude(state=Taken.GONE)
    told = rows.values("order_id").annotate(
        total=Count("pk"),
        picked=Count("pk", filter=Q(state__in=(Taken.PICKED, Taken.FITTED))),
        seated=Count("pk", filter=Q(state=Taken.FITTED)),
    )
    return {row["order_id"]: Far(row["total"], row["picked"], row["seated"]) for row in told}
