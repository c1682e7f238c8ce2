"""Setting plates and parts aside for orders, and giving them back; as a whole or not at all.

Orders are locked first, in the order of their keys, then bins and items in theirs: everybody takes
the locks in one order, so people wait for one another and never in a ring.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, Final

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.errors import CombwrightError
from combwright.shop.orders import actions as order_actions
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import State
from combwright.shop.people.models import Person
from combwright.shop.plans.answers import Claim, claims, parts_of, ready_orders
from combwright.shop.plans.asking import PLANNED
from combwright.shop.plans.models import MadePlan, Taken, TakenPart
from combwright.shop.rack.models import Bin, Item
from combwright.shop.rack.posting import Aside, SetAside, put_aside

_TOLD: Final = 8


class PlanIsOld(CombwrightError):
    """A plan that no longer fits the shop; `lines` say what has changed since."""

    def __init__(self, lines: Sequence[str]) -> None:
        self.lines = tuple(lines)
        super().__init__(
            _("Nothing was set aside, since the shop has changed: %s") % " ".join(lines[:_TOLD])
        )


class NotPinned(CombwrightError):
    """A plate that cannot be pinned."""


@transaction.atomic
def set_aside(person: Person, plan: MadePlan, orders: Collection[str] | None = None) -> MadePlan:
    """Set the plates and parts aside that a plan gives to its ready orders.

    Parameters
    ----------
    person : Person
        Who does it.
    plan : MadePlan
        A plan of the shop as it is, or as it was with nothing that matters changed since.
    orders : collection of str or None
        The numbers of the orders to set aside for; None for all that are ready.

    Raises
    ------
    PlanIsOld
        If an order was changed since, or a plate is no longer free.
    """
    plan = MadePlan.objects.select_for_update().get(pk=plan.pk)
    if plan.set_aside_at is not None:
        raise PlanIsOld([_("this plan was set aside before.")])
    wanted = set(ready_orders(plan.answer) if orders is None else orders)
    served, others = _locked_orders(plan, wanted, all_of_it=orders is None)
    _release(others)
    _release(served.values(), keep_pinned=True)
    _claim(plan, served, [each for each in claims(plan.answer) if each.order in wanted])
    words = {"n": plan.pk}
    for order in served.values():
        if order.state == State.OPEN:
            told = _("plates set aside by plan %(n)d") % words
            order_actions.advance(order, State.ASIDE, person, told)
    for order in others:
        told = _("plan %(n)d gave its plates to other orders") % words
        order_actions.advance(order, State.OPEN, person, told)
    plan.set_aside_at, plan.set_aside_by = timezone.now(), person
    plan.save(update_fields=["set_aside_at", "set_aside_by"])
    return plan


def _locked_orders(
    plan: MadePlan, wanted: set[str], *, all_of_it: bool
) -> tuple[dict[str, Order], list[Order]]:
    """Lock a plan's orders; say which of them are no longer what was planned.

    Of a plan that is set aside as a whole, the second part are the orders that give up what an
    earlier plan set aside for them.
    """
    versions: Mapping[str, int] = plan.asked["versions"]
    which = Q(number__in=wanted)
    if all_of_it:
        which |= Q(state=State.ASIDE, number__in=list(versions))
    rows = Order.objects.select_for_update().filter(which).order_by("pk")
    there = {each.number: each for each in rows}
    lines = [_("order %s is gone.") % number for number in sorted(wanted - set(there))]
    for number, order in there.items():
        if order.state not in PLANNED:
            facts = {"number": number, "state": order.get_state_display()}
            lines.append(_("order %(number)s is %(state)s now.") % facts)
        elif order.version != versions.get(number):
            lines.append(_("order %s was changed.") % number)
    if lines:
        raise PlanIsOld(lines)
    served = {number: order for number, order in there.items() if number in wanted}
    return served, [order for number, order in there.items() if number not in wanted]


def _release(orders: Iterable[Order], *, keep_pinned: bool = False) -> None:
    """Give back what is set aside for some orders, all of it or all that is not pinned."""
    keys = [each.pk for each in orders]
    taken = Taken.objects.filter(order__in=keys, state=Taken.ASIDE)
    if keep_pinned:
        taken = taken.filter(pinned=False)
    bins = Counter(taken.values_list("bin_id", flat=True))
    parts = TakenPart.objects.filter(order__in=keys, used=False)
    items: Counter[int] = Counter()
    for item, many in parts.values_list("item_id", "count"):
        items[item] += many
    put_aside(Aside(_less(bins), _less(items)))
    taken.delete()
    parts.delete()


def _less(counted: Mapping[int, int]) -> dict[int, int]:
    return {key: -many for key, many in counted.items()}


def _claim(plan: MadePlan, orders: Mapping[str, Order], wanted: Sequence[Claim]) -> None:
    bins = {each.code: each for each in Bin.objects.filter(code__in={each.bin for each in wanted})}
    if gone := sorted({each.bin for each in wanted} - set(bins)):
        raise PlanIsOld([_("bin %s is gone.") % code for code in gone])
    if held := [b.code for b in bins.values() if b.held or b.batch.held]:
        raise PlanIsOld([_("bin %s is held now.") % code for code in held])
    items, taken_parts = _parts(orders.values())
    try:
        put_aside(Aside(Counter(bins[each.bin].pk for each in wanted), items))
    except SetAside as error:
        raise PlanIsOld([str(error)]) from error
    rows = {
        (each.order_id, each.row): each
        for each in Wish.objects.filter(order__in=[o.pk for o in orders.values()])
    }
    Taken.objects.bulk_create(
        _taken(
            plan, orders[each.order], rows[orders[each.order].pk, each.row], each, bins[each.bin]
        )
        for each in wanted
    )
    TakenPart.objects.bulk_create(taken_parts)


def _taken(plan: MadePlan, order: Order, wish: Wish, claim: Claim, plate_bin: Bin) -> Taken:
    return Taken(
        order=order, wish=wish, copy=claim.copy, place=claim.place, label=claim.label,
        midi=claim.midi, wanted_mc=claim.wanted_mc, bin=plate_bin, batch_id=plate_bin.batch_id,
        retune_mc=claim.retune_mc, way=claim.way, cost=plate_bin.cost, plan=plan,
    )  # fmt: skip


def _parts(orders: Iterable[Order]) -> tuple[Counter[int], list[TakenPart]]:
    """Choose the items that parts are taken from: the fullest place first."""
    kept = list(Item.objects.filter(kind=Item.PART, held=False).order_by("-count", "pk"))
    if not Item.objects.filter(kind=Item.PART).exists():
        return Counter(), []
    free = {each.pk: each.count - each.aside for each in kept}
    claimed: Counter[int] = Counter()
    rows = []
    reader = Reader()
    for order in orders:
        for part, many in parts_of(order, reader).items():
            left = many
            for item in (each for each in kept if each.part == part and free[each.pk] > 0):
                here = min(left, free[item.pk])
                if here:
                    free[item.pk] -= here
                    claimed[item.pk] += here
                    left -= here
                    rows.append(TakenPart(order=order, item=item, count=here))
            if left:
                facts = {"n": left, "part": part, "order": order.number}
                raise PlanIsOld([_("%(n)d of %(part)s are missing for order %(order)s.") % facts])
    return claimed, rows


@transaction.atomic
def undo(person: Person, plan: MadePlan) -> int:
    """Give back what a plan set aside, of the orders that nobody has begun to pick.

    Returns
    -------
    int
        How many orders gave their plates back.

    Raises
    ------
    PlanIsOld
        If it was not set aside, or undone before.
    """
    plan = MadePlan.objects.select_for_update().get(pk=plan.pk)
    if plan.set_aside_at is None or plan.undone_at is not None:
        raise PlanIsOld([_("this plan sets nothing aside.")])
    keys = Taken.objects.filter(plan=plan, state=Taken.ASIDE).values("order_id")
    orders = list(
        Order.objects.select_for_update().filter(pk__in=keys, state=State.ASIDE).order_by("pk")
    )
    _release(orders)
    for order in orders:
        order_actions.advance(order, State.OPEN, person, _("plates given back"))
    plan.undone_at = timezone.now()
    plan.save(update_fields=["undone_at"])
    return len(orders)


@transaction.atomic
def give_back(person: Person, order: Order, *, seen: int | None = None) -> Order:
    """Give back the plates and parts of one order whose plates are set aside.

    Raises
    ------
    NoSuchStep
        If it is not in that state.
    """
    there = order_actions.locked(order, seen=seen)
    order_actions.advance(there, State.OPEN, person, _("plates given back"))
    _release([there])
    return there


@transaction.atomic
def pin(person: Person, taken: Taken, *, pinned: bool) -> None:
    """Tie a seat's plate to its order, so that no later plan moves it; or let it go again.

    Raises
    ------
    NotPinned
        If it is a kit's plate, or no longer set aside.
    """
    if taken.place.startswith("kit"):
        raise NotPinned(_("The plates of a kit are not pinned; pin a seat's."))
    if taken.state != Taken.ASIDE:
        raise NotPinned(
            _("This plate is %s; only one set aside is pinned.") % taken.get_state_display()
        )
    Taken.objects.filter(pk=taken.pk, state=Taken.ASIDE).update(pinned=pinned)
    words = _("%(place)s pinned") if pinned else _("%(place)s no longer pinned")
    order_actions.tell(taken.order, person, words % {"place": taken.place})


def keep_answer(
    person: Person | None, asked: Mapping[str, Any], answer: Mapping[str, Any]
) -> MadePlan:
    """Keep a plan until somebody sets it aside; old ones that nobody did are thrown away."""
    stale = MadePlan.objects.filter(set_aside_at=None).order_by("-pk").values("pk")[50:]
    MadePlan.objects.filter(pk__in=list(stale.values_list("pk", flat=True))).delete()
    return MadePlan.objects.create(made_by=person, asked=dict(asked), answer=dict(answer))


def set_aside_in_words(orders: int) -> str:
    """Say for how many orders plates are set aside."""
    return ngettext("%d order", "%d orders", orders) % orders
