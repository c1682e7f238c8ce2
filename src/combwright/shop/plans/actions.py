"""Setting plates and parts aside for orders, and giving them back; as a whole or not at all.

Orders are locked first, in the order of their keys, then bins and items in theirs: everybody takes
the locks in one order, so people wait for one another and never in a ring. Whatever one action
releases and takes is therefore one change of the bins.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, Final

from django.db import transaction
from django.db.models import Prefetch, Q, prefetch_related_objects
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from combwright.errors import CombwrightError
from combwright.shop.orders import actions as order_actions
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import State
from combwright.shop.people.models import Person
from combwright.shop.plans.answers import Claim, claims_of, parts_of, rows_of
from combwright.shop.plans.asking import PLANNED, reservations
from combwright.shop.plans.models import MadePlan, PlanOrder, PlanShortage, Taken, TakenPart
from combwright.shop.rack.models import Bin, Item
from combwright.shop.rack.posting import Aside, SetAside, put_aside

_TOLD: Final = 8
#: So many plans that nobody set aside are kept, and so many that were with every seat.
_KEPT, _KEPT_WHOLE = 20, 50
_AT_ONCE: Final = 500


class PlanIsOld(CombwrightError):
    """A plan that no longer fits the shop; `lines` say what has changed since."""

    def __init__(self, lines: Sequence[str]) -> None:
        self.lines = tuple(lines)
        super().__init__(
            _("Nothing was set aside, since the shop has changed: %s") % " ".join(lines[:_TOLD])
        )


class NotReady(CombwrightError):
    """An order for which a plan has nothing to set aside."""


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
    NotReady
        If one of the orders waits for plates, or none is ready.
    """
    plan = _locked(plan)
    if plan.set_aside_at is not None:
        raise PlanIsOld([_("this plan was set aside before.")])
    rows = _chosen(plan, orders)
    served, others = _locked_orders(plan, set(rows), all_of_it=orders is None)
    wanted = [each for number in served for each in claims_of(rows[number].said)]
    bins, items = _let_go(others)
    _add(bins, items, *_let_go(served.values(), keep_pinned=True))
    try:
        _claim(plan, served, wanted, bins, items)
    except SetAside as error:
        whole = [] if orders is None else _as_a_whole(plan, served)
        raise PlanIsOld([str(error), *whole]) from error
    _advance(plan, served.values(), others, person)
    plan.set_aside_at, plan.set_aside_by = timezone.now(), person
    plan.save(update_fields=["set_aside_at", "set_aside_by"])
    return plan


def _locked(plan: MadePlan) -> MadePlan:
    # Its key stays, so that who writes down a taken plate of it need not wait: that one holds an
    # order, and this one wants orders next.
    return MadePlan.objects.select_for_update(no_key=True).get(pk=plan.pk)


def _chosen(plan: MadePlan, orders: Collection[str] | None) -> dict[str, PlanOrder]:
    """Return the ready orders to set aside for, by number."""
    rows = plan.orders.filter(ready=True)
    if orders is not None:
        rows = rows.filter(order_id__in=orders)
    found = {str(each.order_id): each for each in rows}
    if orders is None:
        found = {number: each for number, each in found.items() if each.arrives is None}
        if not found:
            raise NotReady(_("No order of this plan is ready, so there is nothing to set aside."))
    if orders is not None and not orders:
        raise NotReady(_("Tick the orders whose plates are to be set aside; none is ticked."))
    for number in sorted(set(orders or ()) - set(found)):
        raise NotReady(_("Order %s is not ready in this plan; only ready ones are set aside for.")
                       % number)  # fmt: skip
    for number, each in found.items():
        if each.arrives is not None:
            facts = {"number": number, "day": date_format(each.arrives)}
            raise NotReady(
                _("Order %(number)s waits for plates that arrive on %(day)s; what is not there "
                  "yet cannot be set aside. Plan again when they are in the rack.") % facts
            )  # fmt: skip
    return found


def _locked_orders(
    plan: MadePlan, wanted: set[str], *, all_of_it: bool
) -> tuple[dict[str, Order], list[Order]]:
    """Lock a plan's orders; say which of them are no longer what was planned.

    Of a plan that is set aside as a whole, the second part are the orders that give up what an
    earlier plan set aside for them, those too that it was asked to leave out.
    """
    versions: dict[str, int | None] = {
        **plan.asked.get("left_out", {}),
        **{str(key): seen for key, seen in plan.orders.values_list("order_id", "version")},
    }
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


def _advance(
    plan: MadePlan, served: Iterable[Order], others: Collection[Order], person: Person
) -> None:
    words = {"n": plan.pk}
    new = [each for each in served if each.state == State.OPEN]
    told = _("plates set aside by plan %(n)d") % words
    order_actions.advance_all(new, State.ASIDE, person, told)
    told = _("plan %(n)d gave its plates to other orders") % words
    order_actions.advance_all(others, State.OPEN, person, told)


def _let_go(
    orders: Iterable[Order], *, keep_pinned: bool = False
) -> tuple[Counter[int], Counter[int]]:
    """Forget what is set aside for some orders; return the bins' and items' changes, to be made."""
    keys = [each.pk for each in orders]
    taken = Taken.objects.filter(order__in=keys, state=Taken.ASIDE)
    if keep_pinned:
        taken = taken.filter(pinned=False)
    bins: Counter[int] = Counter()
    bins.subtract(taken.values_list("bin_id", flat=True))
    parts = TakenPart.objects.filter(order__in=keys, used=False)
    items: Counter[int] = Counter()
    for item, many in parts.values_list("item_id", "count"):
        items[item] -= many
    taken.delete()
    parts.delete()
    return bins, items


def _add(
    bins: Counter[int], items: Counter[int], more_bins: Counter[int], more_items: Counter[int]
) -> None:
    # Zeros stay: their bins are written to by reference, so they must be locked in turn too.
    bins.update(more_bins)
    items.update(more_items)


def _release(orders: Iterable[Order]) -> None:
    put_aside(Aside(*_let_go(orders)))


def _claim(
    plan: MadePlan,
    orders: Mapping[str, Order],
    wanted: Sequence[Claim],
    bin_changes: Counter[int],
    item_changes: Counter[int],
) -> None:
    """Set aside what orders are given, less what was let go before in the same breath."""
    codes = {each.bin for each in wanted}
    found = Bin.objects.select_related("batch").filter(code__in=codes)
    bins = {each.code: each for each in found}
    if gone := sorted(codes - set(bins)):
        raise PlanIsOld([_("bin %s is gone.") % code for code in gone])
    if held := [each.code for each in bins.values() if each.held or each.batch.held]:
        raise PlanIsOld([_("bin %s is held now.") % code for code in held])
    taken_parts = _parts(orders.values(), item_changes)
    bin_changes.update(Counter(bins[each.bin].pk for each in wanted))
    for part in taken_parts:
        item_changes[part.item_id] += part.count
    put_aside(Aside(bin_changes, item_changes))
    keys = [each.pk for each in orders.values()]
    rows = {(each.order_id, each.row): each for each in Wish.objects.filter(order__in=keys)}
    Taken.objects.bulk_create(
        _taken(
            plan, orders[each.order], rows[orders[each.order].pk, each.row], each, bins[each.bin]
        )
        for each in wanted
    )
    TakenPart.objects.bulk_create(taken_parts)


def _as_a_whole(plan: MadePlan, served: Collection[str]) -> list[str]:
    """Say that a part of a plan may want plates that the rest of it lets go."""
    lets_go = Q(moved__gt=0) | Q(ready=False, order__state=State.ASIDE)
    if not plan.orders.exclude(order_id__in=list(served)).filter(lets_go).exists():
        return []
    return [_("This plan lets go of plates of other orders: set it aside for all, not for some.")]


def _taken(plan: MadePlan, order: Order, wish: Wish, claim: Claim, plate_bin: Bin) -> Taken:
    return Taken(
        order=order, wish=wish, copy=claim.copy, place=claim.place, label=claim.label,
        midi=claim.midi, wanted_mc=claim.wanted_mc, bin=plate_bin, batch_id=plate_bin.batch_id,
        retune_mc=claim.retune_mc, way=claim.way, cost=plate_bin.cost, plan=plan,
    )  # fmt: skip


def _parts(orders: Collection[Order], released: Counter[int]) -> list[TakenPart]:
    """Choose the items that parts are taken from: the fullest place first."""
    everything = list(Item.objects.filter(kind=Item.PART).order_by("-count", "pk"))
    if not everything:
        return []
    kept = [each for each in everything if not each.held]
    # `released` holds changes: what was let go is below zero.
    free = {each.pk: each.count - each.aside - released[each.pk] for each in kept}
    rows = []
    reader = Reader()
    wishes = Prefetch("wishes", Wish.objects.select_related("order").order_by("row"))
    prefetch_related_objects(list(orders), wishes)
    for order in orders:
        for part, many in parts_of(order, reader).items():
            left = many
            for item in (each for each in kept if each.part == part and free[each.pk] > 0):
                here = min(left, free[item.pk])
                if here:
                    free[item.pk] -= here
                    left -= here
                    rows.append(TakenPart(order=order, item=item, count=here))
            if left:
                facts = {"n": left, "part": part, "order": order.number}
                raise PlanIsOld([_("%(n)d of %(part)s are missing for order %(order)s.") % facts])
    return rows


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
    plan = _locked(plan)
    if plan.set_aside_at is None or plan.undone_at is not None:
        raise PlanIsOld([_("this plan sets nothing aside.")])
    keys = Taken.objects.filter(plan=plan, state=Taken.ASIDE).values("order_id")
    orders = list(
        Order.objects.select_for_update().filter(pk__in=keys, state=State.ASIDE).order_by("pk")
    )
    _release(orders)
    order_actions.advance_all(orders, State.OPEN, person, _("plates given back"))
    plan.undone_at = timezone.now()
    plan.save(update_fields=["undone_at"])
    return len(orders)


@transaction.atomic
def give_back(person: Person, order: Order, *, seen: int | None = None) -> Order:
    """Give back the plates and parts of one order whose plates are set aside.

    Raises
    ------
    NotSo
        If it is in another state; an order that is being picked is put back at the bench.
    """
    there = order_actions.locked(order, seen=seen)
    order_actions.only_while(there, State.ASIDE)
    order_actions.advance(there, State.OPEN, person, _("plates given back"))
    _release([there])
    return there


@transaction.atomic
def pin(person: Person, taken: Taken, *, pinned: bool) -> None:
    """Tie a seat's plate to its order, so that no later plan moves it; or let it go again.

    The order is changed by it: a plan that was made before knows nothing of the pin.

    Raises
    ------
    NotPinned
        If it is a kit's plate, or no longer set aside.
    """
    order = order_actions.locked(taken.order)
    there = Taken.objects.filter(pk=taken.pk).first()
    if there is None:
        raise NotPinned(_("This plate was given back meanwhile; look at the order again."))
    if there.place.startswith("kit"):
        raise NotPinned(_("The plates of a kit are not pinned; pin a seat's."))
    if there.state != Taken.ASIDE:
        raise NotPinned(
            _("This plate is %s; only one set aside is pinned.") % there.get_state_display()
        )
    if there.pinned == pinned:
        return
    there.pinned = pinned
    there.save(update_fields=["pinned"])
    order.version += 1
    order.save(update_fields=["version"])
    words = _("%(place)s pinned") if pinned else _("%(place)s no longer pinned")
    order_actions.tell(order, person, words % {"place": there.place})


@transaction.atomic
def keep_answer(
    person: Person | None, asked: Mapping[str, Any], answer: Mapping[str, Any]
) -> MadePlan:
    """Keep a plan until somebody sets it aside; old ones that nobody did are thrown away.

    Parameters
    ----------
    person : Person or None
        Who asked for it.
    asked : mapping
        What was asked (`without`, `promised`, `sets`, `seconds`) and what `Asked.said` says of the
        shop; `versions` at least.
    answer : mapping
        The document of `combwright plan --json`.
    """
    _tidy()
    said = dict(asked)
    versions = said.pop("versions")
    facts = {name: said.pop(name) for name in ("mark", "entry", "change") if name in said}
    ready = sum(each["ready"] for each in answer["orders"])
    plan = MadePlan.objects.create(
        made_by=person, asked=said, ready=ready, waiting=len(answer["orders"]) - ready,
        what_if=any(said.get(name) for name in ("without", "promised", "sets")),
        head={name: answer[name] for name in answer if name not in ("orders", "shortages")},
        **facts,
    )  # fmt: skip
    orders, shortages = rows_of(plan, answer, versions, reservations())
    PlanOrder.objects.bulk_create(orders, batch_size=_AT_ONCE)
    PlanShortage.objects.bulk_create(shortages, batch_size=_AT_ONCE)
    return plan


def _tidy() -> None:
    stale = MadePlan.objects.filter(set_aside_at=None).order_by("-pk").values("pk")[_KEPT - 1 :]
    MadePlan.objects.filter(pk__in=list(stale.values_list("pk", flat=True))).delete()
    done = MadePlan.objects.exclude(set_aside_at=None).order_by("-pk")[_KEPT_WHOLE:]
    keys = list(done.values_list("pk", flat=True))
    PlanOrder.objects.filter(plan__in=keys).exclude(packed=b"").update(packed=b"")
