"""What the plans' pages read; of an answer about many orders only the page's part is unpacked."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final, overload

from django.db.models import Count, F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.plans.answers import Claim, claims_of
from combwright.shop.plans.asking import PLANNED
from combwright.shop.plans.models import MadePlan, PlanOrder, PlanShortage, Taken
from combwright.shop.rack.models import Change, Entry

_READY = Q(ready=True, arrives=None)
#: What may be shown of a plan's orders: its name in an address, what it is called, which they are.
SHOWN: Final[Mapping[str, tuple[Any, Q]]] = MappingProxyType(
    {
        "ready": (gettext_lazy("ready"), _READY),
        "arriving": (
            gettext_lazy("ready when plates arrive"),
            Q(ready=True, arrives__isnull=False),
        ),
        "waiting": (gettext_lazy("waiting"), Q(ready=False)),
        "new": (
            gettext_lazy("newly ready: nothing is set aside yet"),
            _READY & Q(order__state=State.OPEN.value),
        ),
        "lost": (
            gettext_lazy("would lose what is set aside"),
            ~_READY & Q(order__state=State.ASIDE.value),
        ),
        "moved": (gettext_lazy("plates would be moved"), Q(moved__gt=0)),
        "retuned": (gettext_lazy("plates are retuned"), Q(retunes__gt=0)),
    }
)
_MANY: Final = 100
_NAMED: Final = 20


def made_plans() -> QuerySet[MadePlan]:
    """Return the plans, the newest first, with who made them."""
    return MadePlan.objects.select_related("made_by", "set_aside_by")


def figures(plan: MadePlan) -> dict[str, int]:
    """Count a plan's orders by what may be shown of them, and what changed since; one query."""
    # With a prefix: the conditions name fields, one of which is called like what is shown.
    counted = {f"n_{name}": Count("pk", filter=which) for name, (_label, which) in SHOWN.items()}
    planned = Q(order__state__in=PLANNED)
    same = planned & Q(order__version=F("version"))
    found = plan.orders.order_by().aggregate(
        **counted,
        moves=Coalesce(Sum("moved"), 0),
        retunes_of_all=Coalesce(Sum("retunes"), 0),
        still_planned=Count("pk", filter=planned),
        unchanged=Count("pk", filter=same),
    )
    return {name.removeprefix("n_"): many for name, many in found.items()}


def changed_since(plan: MadePlan, counted: Mapping[str, int]) -> list[str]:
    """Say what has changed since a plan was made; nothing while it fits the shop.

    Parameters
    ----------
    counted : mapping
        Its `figures`.
    """
    lines = []
    if changed := plan.all_orders - counted["unchanged"]:
        lines.append(
            ngettext("%d order of it was changed.", "%d orders of it were changed.", changed)
            % changed
        )
    if opened := _opened_since(plan, counted):
        lines.append(ngettext("%d order was opened.", "%d orders were opened.", opened) % opened)
    if booked := Entry.objects.filter(pk__gt=plan.entry)[: _MANY + 1].count():
        lines.append(_booked(booked))
    if turned := Change.objects.filter(pk__gt=plan.change)[: _MANY + 1].count():
        lines.append(_turned(turned))
    return lines


def _opened_since(plan: MadePlan, counted: Mapping[str, int]) -> int:
    now = Order.objects.filter(state__in=PLANNED).count()
    left_out = plan.asked.get("left_out", {})
    if left_out:
        now -= Order.objects.filter(number__in=list(left_out), state__in=PLANNED).count()
    return max(now - counted["still_planned"], 0)


def _booked(many: int) -> str:
    if many > _MANY:
        return _("In the rack more than %d things were booked.") % _MANY
    return ngettext(
        "In the rack %d thing was booked.", "In the rack %d things were booked.", many
    ) % many  # fmt: skip


def _turned(many: int) -> str:
    if many > _MANY:
        return _("More than %d bins or items were measured, held or changed.") % _MANY
    return ngettext(
        "%d bin or item was measured, held or changed.",
        "%d bins or items were measured, held or changed.",
        many,
    ) % many  # fmt: skip


def orders_of(plan: MadePlan, *, show: str = "", text: str = "") -> QuerySet[PlanOrder]:
    """Return some of a plan's orders, without their plates."""
    rows = plan.orders.select_related("order").defer("packed", "moves")
    if show:
        rows = rows.filter(SHOWN[show][1])
    return rows.filter(order__number__icontains=text) if text else rows


def texts_of(plan: MadePlan, rows: Sequence[PlanOrder]) -> dict[int, str]:
    """Return the words of the shortages that some orders wait for, by position."""
    wanted = {position for row in rows for position in row.lacks}
    if not wanted:
        return {}
    found = PlanShortage.objects.filter(plan=plan, position__in=wanted)
    return dict(found.values_list("position", "text"))


@dataclass(frozen=True, slots=True)
class Effect:
    """What a what-if changes against a plan of the same shop without it."""

    plain: MadePlan
    ready: int
    value: Decimal
    cost: Decimal
    gained: tuple[str, ...]
    more_gained: int
    lost: tuple[str, ...]
    more_lost: int


def effect(plan: MadePlan) -> Effect | None:
    """Compare a what-if with the newest plain plan of the same shop; None without one."""
    plain = MadePlan.objects.filter(mark=plan.mark, what_if=False).exclude(mark="").first()
    if plain is None:
        return None
    gained, more_gained = _only_ready_in(plan, plain)
    lost, more_lost = _only_ready_in(plain, plan)
    return Effect(
        plain, plan.ready - plain.ready, _more(plan, plain, "value"), _more(plan, plain, "cost"),
        gained, more_gained, lost, more_lost,
    )  # fmt: skip


def _more(plan: MadePlan, plain: MadePlan, what: str) -> Decimal:
    return Decimal(str(plan.head[what])) - Decimal(str(plain.head[what]))


def _only_ready_in(here: MadePlan, there: MadePlan) -> tuple[tuple[str, ...], int]:
    ready = there.orders.filter(ready=True, order_id__isnull=False).order_by().values("order_id")
    rows = here.orders.filter(ready=True).exclude(order_id__in=ready)
    names = tuple(str(each) for each in rows.values_list("order_id", flat=True)[:_NAMED])
    return names, (rows.count() - _NAMED if len(names) == _NAMED else 0)


@dataclass(frozen=True, slots=True)
class Given:
    """A plate that a plan gives to a seat, and where the seat's plate lies now if elsewhere."""

    order: str
    row: int
    copy: int
    place: str
    note: str
    bin: str
    cents: float
    way: str
    was: str = ""


class PlateList(Sequence[Given]):
    """A plan's plates of one kind, of which only those asked for are unpacked.

    Parameters
    ----------
    plan : MadePlan
        The plan.
    show : {"retuned", "moved", ""}
        Which plates; all of them if empty.
    order : str
        Of one order alone; of all if empty.
    """

    def __init__(self, plan: MadePlan, *, show: str = "", order: str = "") -> None:
        self._show = show
        many = {"retuned": "retunes", "moved": "moved"}.get(show, "plates")
        rows = plan.orders.filter(**{f"{many}__gt": 0})
        rows = rows.filter(order_id=order) if order else rows
        self._rows = list(rows.values_list("pk", many))

    def __len__(self) -> int:
        return sum(many for _key, many in self._rows)

    @overload
    def __getitem__(self, wanted: int) -> Given: ...
    @overload
    def __getitem__(self, wanted: slice) -> list[Given]: ...
    def __getitem__(self, wanted: int | slice) -> Given | list[Given]:
        """Unpack the orders that some plates are for."""
        if isinstance(wanted, int):
            return self[wanted : wanted + 1][0]
        start, stop, _step = wanted.indices(len(self))
        keys: list[int] = []
        before = first = 0
        for key, many in self._rows:
            if before + many > start and before < stop:
                first = before if not keys else first
                keys.append(key)
            before += many
        rows = PlanOrder.objects.filter(pk__in=keys).order_by("position")
        there = [each for row in rows for each in self._of(row)]
        return there[start - first : stop - first]

    def _of(self, row: PlanOrder) -> Iterator[Given]:
        was = {(r, copy, place): before for r, copy, place, before, _after in row.moves}
        for each in claims_of(row.said):
            given = _given(each, was.get((each.row, each.copy, each.place), ""))
            if self._show == "moved" and not given.was:
                continue
            if self._show == "retuned" and each.way == "none":
                continue
            yield given


def _given(claim: Claim, was: str) -> Given:
    return Given(
        claim.order, claim.row, claim.copy, claim.place, claim.note, claim.bin, claim.cents,
        claim.way, was,
    )  # fmt: skip


def taken_of(order: Order) -> QuerySet[Taken]:
    """Return the plates that an order has, seat by seat."""
    rows = Taken.objects.filter(order=order).exclude(state=Taken.GONE)
    return rows.select_related("bin", "batch", "wish", "plan").order_by("wish__row", "copy", "pk")


def held_aside(rows: QuerySet[Taken]) -> int:
    """Count the plates among some that are set aside in held bins or of held batches."""
    held = Q(bin__held=True) | Q(batch__held=True)
    return rows.filter(held, state=Taken.ASIDE).order_by().count()


def orders_served(plan: MadePlan) -> int:
    """Count the orders that a plan set plates aside for, whatever has become of them since."""
    if plan.set_aside_at is None:
        return 0
    return Taken.objects.filter(plan=plan).order_by().values("order").distinct().count()
