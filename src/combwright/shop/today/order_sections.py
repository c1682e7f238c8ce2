"""Sections about orders: a fixed number of questions, however many orders there are.

Each asks for orders in a few states, which the indexes on the state find, and takes the first few.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Final

from django.db.models import CharField, Count, Exists, F, OuterRef, Q, QuerySet, Value
from django.db.models.functions import Cast, Concat
from django.utils import formats, timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.people.models import Person
from combwright.shop.people.roles import May, allowed
from combwright.shop.plans.asking import PLANNED
from combwright.shop.plans.models import MadePlan, PlanOrder, PlanShortage, Taken
from combwright.shop.today.parts import SHOWN, Act, Line, Section
from combwright.shop.today.ways import way

#: An order that is due in so many days is due soon.
SOON: Final = timedelta(days=7)
_UNDER_WAY: Final = tuple(s.value for s in State if s not in (State.SENT, State.CANCELLED))
_NOT_ASIDE: Final = (State.DRAFT.value, State.OPEN.value)
_FIRST_DUE: Final = (F("due").asc(nulls_last=True), "priority", "pk")


@dataclass
class Orders:
    """The orders as one person finds them today; each section asks when it is asked for."""

    person: Person

    @cached_property
    def today(self) -> date:
        """The day it is in the shop."""
        return timezone.localdate()

    @cached_property
    def counts(self) -> Mapping[str, int]:
        """How many orders there are in each state that is under way."""
        found = Order.objects.filter(state__in=_UNDER_WAY).order_by().values_list("state")
        return dict(found.annotate(n=Count("pk")))

    @cached_property
    def plan(self) -> MadePlan | None:
        """The newest plan that was made of the shop as it is."""
        return MadePlan.objects.filter(what_if=False).only("pk", "made_at").first()

    def may(self, what: May) -> bool:
        """Say whether the person may do something."""
        return allowed(self.person.role, what)

    def pick(self) -> Section | None:
        """Orders whose plates are set aside: several may be begun at once, from their list."""
        return self._in_state(
            "pick", State.ASIDE, _("Ready to pick"), May.PICK, _("Begin to pick order %s"),
            lambda order: way("bench:list", state="aside", order=str(order.pk)),
        )  # fmt: skip

    def picking(self) -> Section | None:
        """Orders that somebody has begun to pick."""
        return self._in_state(
            "picking", State.PICKING, _("Being picked"), May.PICK, _("Go on picking order %s"),
            lambda order: way("bench:walk", orders=str(order.pk)), _picked,
        )  # fmt: skip

    def bench(self) -> Section | None:
        """Orders that are being built."""
        return self._in_state(
            "bench", State.BENCH, _("On the bench"), May.BUILD, _("Go on building order %s"),
            lambda order: way("bench:build", order.pk), _fitted,
        )  # fmt: skip

    def send(self) -> Section | None:
        """Orders that are built."""
        return self._in_state(
            "send", State.BUILT, _("Built, to be sent"), May.SEND, _("Send order %s"),
            lambda order: way("bench:send", order.pk),
        )  # fmt: skip

    def due(self) -> Section | None:
        """Orders that are overdue or due soon, wherever they are on their way."""
        there = Order.objects.filter(state__in=_UNDER_WAY, due__lte=self.today + SOON)
        found = there.aggregate(n=Count("pk"), over=Count("pk", filter=Q(due__lt=self.today)))
        if not found["n"]:
            return None
        rows = self._first(there)
        remark = ngettext("%d is overdue.", "%d are overdue.", found["over"]) % found["over"]
        return Section(
            "due", _("Overdue, or due within a week"), found["n"],
            self._lines(rows, lambda o: o.get_state_display()),
            self._look(rows[0]), way("orders:list", due="7"), remark if found["over"] else "",
        )  # fmt: skip

    def danger(self) -> Section | None:
        """Orders that may not be what was promised: no plates are set aside, or they wait."""
        soon = Q(promised=True) | Q(due__lte=self.today + SOON)
        endangered = Q(state__in=_NOT_ASIDE) & soon
        if self.plan is not None:
            waits = PlanOrder.objects.filter(plan=self.plan, order=OuterRef("number"), ready=False)
            endangered |= Q(state__in=PLANNED) & soon & Q(Exists(waits))
        there = Order.objects.filter(endangered, state__in=(*_NOT_ASIDE, State.ASIDE.value))
        rows = self._first(there)
        if not rows:
            return None
        many = there.count() if len(rows) == SHOWN else len(rows)
        lines = self._lines(rows, _why_in_danger)
        return Section(
            "danger", _("Promises in danger"), many, lines, self._towards(rows[0]),
            way("orders:list"),
        )  # fmt: skip

    def unplanned(self) -> Section | None:
        """Open orders that the newest plan does not know."""
        there = Order.objects.filter(state=State.OPEN)
        if self.plan is not None:
            known = PlanOrder.objects.filter(plan=self.plan, order=OuterRef("number"))
            there = there.filter(~Exists(known))
        rows = self._first(there)
        if not rows:
            return None
        many = there.count() if len(rows) == SHOWN else len(rows)
        return Section(
            "unplanned", _("Open, in no plan yet"), many, self._lines(rows), self._plan_act(),
            way("orders:list", state="open"),
        )  # fmt: skip

    def waiting(self) -> Section | None:
        """Orders that wait for plates, by the newest plan, and what for."""
        if self.plan is None:
            return None
        many = PlanOrder.objects.filter(
            plan=self.plan, ready=False, order__state__in=PLANNED
        ).count()  # fmt: skip
        if not many:
            return None
        lacking = PlanShortage.objects.filter(plan=self.plan).order_by("-waiting", "position")
        rows = lacking.only("text", "waiting")[:SHOWN]
        address = way("plans:one", self.plan.pk)
        act = Act(_("Look at plan %d") % self.plan.pk, address)
        return Section(
            "waiting", _("Waiting for plates"), many,
            [Line(each.text, remark=_orders(each.waiting)) for each in rows],
            act if address and self.may(May.PLAN) else None, address,
            _("By the plan of %s:") % formats.date_format(
                timezone.localtime(self.plan.made_at), "SHORT_DATETIME_FORMAT"
            ),
        )  # fmt: skip

    def _in_state(
        self,
        name: str,
        state: State,
        title: str,
        right: May,
        label: str,
        page: Callable[[Order], str],
        how_far: Callable[[Sequence[Order]], Mapping[int, str]] | None = None,
    ) -> Section | None:
        many = self.counts.get(state.value, 0)
        rows = self._first(Order.objects.filter(state=state)) if many else []
        if not rows:
            return None
        far = how_far(rows) if how_far else {}
        lines = self._lines(rows, lambda o: far.get(o.pk, ""))
        first = rows[0].number
        address = page(rows[0]) or way("orders:one", first)
        act = Act(label % first, address) if address and self.may(right) else None
        return Section(name, title, many, lines, act, way("bench:list", state=state.value))

    def _first(self, there: QuerySet[Order]) -> list[Order]:
        return list(there.select_related("customer").order_by(*_FIRST_DUE)[:SHOWN])

    def _lines(
        self, rows: Iterable[Order], remark: Callable[[Order], str] = lambda _order: ""
    ) -> list[Line]:
        return [
            Line(
                each.number, way("orders:one", each.number), self._said(each, remark(each)),
                each.due, each.due is not None and each.due < self.today,
            )
            for each in rows
        ]  # fmt: skip

    @staticmethod
    def _said(order: Order, remark: str) -> str:
        who = order.customer.name if order.customer else ""
        return ", ".join(each for each in (who, remark) if each)

    def _look(self, order: Order) -> Act | None:
        address = way("orders:one", order.number)
        return Act(_("Look at order %s") % order.number, address) if address else None

    def _towards(self, order: Order) -> Act | None:
        """Return what gets an order without plates on: a plan, once it is open."""
        planned = order.state != State.DRAFT and self.may(May.PLAN)
        return self._plan_act() if planned else self._look(order)

    def _plan_act(self) -> Act | None:
        address = way("plans:list")
        may = address and self.may(May.PLAN)
        return Act(_("Plan the open orders"), address) if may else None


def _why_in_danger(order: Order) -> str:
    promised = _("promised") if order.promised else _("due soon")
    if order.state == State.ASIDE:
        return _("%s, but the newest plan lets it wait") % promised
    return _("%(why)s, and %(state)s") % {"why": promised, "state": order.get_state_display()}


def _orders(many: int) -> str:
    return ngettext("%d order waits for it", "%d orders wait for it", many) % many


def _picked(rows: Sequence[Order]) -> Mapping[int, str]:
    done = Q(state__in=(Taken.PICKED, Taken.FITTED))
    return _shares(rows, Q(), done, _("%(n)d of %(all)d plates picked"))


def _fitted(rows: Sequence[Order]) -> Mapping[int, str]:
    seats, done = ~Q(place__startswith="kit"), Q(state=Taken.FITTED)
    return _shares(rows, seats, done, _("%(n)d of %(all)d seats filled"))


def _shares(rows: Sequence[Order], which: Q, done: Q, words: str) -> Mapping[int, str]:
    """Say of each order how many of its places are done; one whose plate is gone still counts."""
    place = Concat(
        Cast("wish_id", CharField()), Value("."), Cast("copy", CharField()), Value("."), "place",
        output_field=CharField(),
    )  # fmt: skip
    found = Taken.objects.filter(which, order__in=rows).order_by().values("order_id")
    counted = found.annotate(n=Count("pk", filter=done), all=Count(place, distinct=True))
    return {each["order_id"]: words % each for each in counted}
