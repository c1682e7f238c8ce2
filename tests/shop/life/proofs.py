"""What must be so in a shop whenever one looks: a line for everything that is not.

Beside the shop's own proofs there are others here that share none of their code: they count plates
from the ledger on one side and from orders and instruments on the other.
"""

import hashlib
from collections import Counter

from django.apps import apps
from django.db.models import Prefetch, Q, Sum

from combwright.allocation.reservations import place_name, wants_in
from combwright.shop.orders.models import Order, Step
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import STEPS, State
from combwright.shop.plans.answers import parts_of
from combwright.shop.plans.faults import faults
from combwright.shop.plans.models import Taken, TakenPart
from combwright.shop.rack.item_queries import item_faults
from combwright.shop.rack.models import Bin, Entry, Item, ItemLine, Line, Plate
from combwright.shop.rack.queries import ledger_faults
from combwright.shop.register.models import Fitted, Instrument

#: Lines by which plates go to orders and come back; a labelled plate that turns up is no such.
FOR_ORDERS = Q(entry__why__in=(Entry.PICKED, Entry.RETURNED)) & ~Q(entry__note__startswith="plate ")
LIVE = (Taken.ASIDE, Taken.PICKED, Taken.FITTED)
#: By an order's state, the states of its plates, and whether every place must have one.
PLATES = {
    State.DRAFT: ((), True),
    State.OPEN: ((), True),
    State.ASIDE: ((Taken.ASIDE,), True),
    State.PICKING: ((Taken.ASIDE, Taken.PICKED), False),
    State.BENCH: (LIVE, False),
    State.BUILT: ((Taken.PICKED, Taken.FITTED), True),
    State.SENT: ((Taken.PICKED, Taken.FITTED), True),
    State.CANCELLED: ((), True),
}
#: By an order's state, whether its parts still lie in the store, or were used; else it has none.
PARTS_USED = {
    State.ASIDE: False, State.PICKING: False,
    State.BENCH: True, State.BUILT: True, State.SENT: True,
}  # fmt: skip
#: While an order is in one of these states, its instruments are whole.
WITH_INSTRUMENTS = (State.BENCH, State.BUILT, State.SENT)
ROOMS = ("rack", "orders", "plans", "register")


def wrong():
    """Return a line for everything that is wrong."""
    return [
        *faults(), *map(str, ledger_faults()), *map(str, item_faults()),
        *_plates_out(), *_aside_is_backed(), *_parts_out(), *_in_instruments(), *_with_labels(),
        *_orders(),
    ]  # fmt: skip


def plates_by_ledger():
    """Return the plates that came into the shop and never left it for good, by the ledger."""
    inside = Line.objects.exclude(FOR_ORDERS)
    return (inside.aggregate(n=Sum("change"))["n"] or 0) - broken()


def plates_there():
    """Return the plates in bins, in trays, in instruments and in kits, sent ones too."""
    lying = Bin.objects.aggregate(n=Sum("count"))["n"] or 0
    return lying + Taken.objects.filter(state__in=(Taken.PICKED, Taken.FITTED)).count()


def broken():
    """Return how many plates broke on the bench, as the timelines say."""
    return Step.objects.filter(words__startswith="the plate of", words__contains=" broke: ").count()


def _plates_out():
    moved = Line.objects.filter(FOR_ORDERS)
    out = -(moved.aggregate(n=Sum("change"))["n"] or 0)
    with_orders = Taken.objects.filter(state__in=(Taken.PICKED, Taken.FITTED)).count()
    if out != with_orders + broken():
        yield f"{out} plates left for orders, {with_orders} are there and {broken()} broke"
    if plates_by_ledger() != plates_there():
        yield f"the ledger knows of {plates_by_ledger()} plates, {plates_there()} are there"


def _aside_is_backed():
    held = Counter(Taken.objects.filter(state=Taken.ASIDE).values_list("bin_id", flat=True))
    for each in Bin.objects.all():
        if not held[each.pk] == each.aside <= each.count:
            yield f"bin {each}: {each.count} there, {each.aside} aside, {held[each.pk]} claimed"


def _parts_out():
    moved = ItemLine.objects.filter(entry__why__in=(Entry.BUILT, Entry.RETURNED))
    out = Counter()
    for item, change in moved.values_list("item_id", "change"):
        out[item] -= change
    used, held = Counter(), Counter()
    for each in TakenPart.objects.all():
        (used if each.used else held)[each.item_id] += each.count
    for each in Item.objects.all():
        if out[each.pk] != used[each.pk]:
            yield f"{out[each.pk]} of {each} left for orders, {used[each.pk]} are with them"
        if not held[each.pk] == each.aside <= each.count:
            yield f"item {each}: {each.count} there, {each.aside} aside, {held[each.pk]} claimed"


def _in_instruments():
    seated = list(
        Fitted.objects.filter(taken_out_at=None).select_related("taken", "instrument__order")
    )
    if twice := [key for key, n in Counter(each.taken_id for each in seated).items() if n > 1]:
        yield f"plates {twice} sit in two seats"
    fitted = set(Taken.objects.filter(state=Taken.FITTED).values_list("pk", flat=True))
    if fitted != {each.taken_id for each in seated}:
        yield "what is fitted does not sit in instruments"
    for each in seated:
        instrument, taken = each.instrument, each.taken
        ours = (instrument.wish_id, instrument.copy) == (taken.wish_id, taken.copy)
        if not ours or instrument.taken_apart_at is not None:
            yield f"{taken} sits in {instrument}"
    for each in Instrument.objects.select_related("order"):
        state, whole = State(each.order.state), each.taken_apart_at is None
        if whole and state not in WITH_INSTRUMENTS:
            yield f"instrument {each} is whole, its order {state}"
        if not whole and not any(at in (State.OPEN, State.CANCELLED) for at in _been(each)):
            yield f"instrument {each} is taken apart, its order never went back"
        if whole and each.finished_at is None and state in (State.BUILT, State.SENT):
            yield f"instrument {each} is not finished, its order is {state}"


def _been(instrument):
    """Return the states that an instrument's order came into after it was begun."""
    steps = instrument.order.steps.filter(at__gte=instrument.made_at).exclude(state="")
    return list(steps.values_list("state", flat=True))


def _with_labels():
    with_orders = Taken.objects.filter(state__in=(Taken.PICKED, Taken.FITTED))
    for each in Plate.objects.prefetch_related(Prefetch("taken", with_orders)):
        live = list(each.taken.all())
        if len(live) > 1 or (live and each.bin_id is not None):
            yield f"plate {each} is in {each.bin} and with {live}"


def _orders():
    reader, counted = Reader(), Item.objects.filter(kind=Item.PART).exists()
    live = Prefetch("taken", Taken.objects.filter(state__in=LIVE), to_attr="live")
    steps = Prefetch("steps", Step.objects.exclude(state="").order_by("pk"), to_attr="way")
    for order in Order.objects.prefetch_related("wishes", "taken_parts__item", live, steps):
        yield from _plates(order, reader)
        yield from _way(order)
        if counted:
            yield from _parts(order, reader)


def _plates(order, reader):
    allowed, complete = PLATES[order.state]
    there = Counter((each.wish_id, each.copy, each.place) for each in order.live)
    if bad := [each for each in order.live if each.state not in allowed]:
        yield f"{order} is {order.state} and has {bad[0].state} plates"
    if max(there.values(), default=1) > 1:
        yield f"{order} has two plates for one seat"
    if not allowed:
        return
    wanted = set(_places(order, reader))
    if set(there) - wanted:
        yield f"{order} has plates for no seat of its"
    if complete and set(there) != wanted:
        yield f"{order} is {order.state} and lacks {len(wanted - set(there))} plates"


def _places(order, reader):
    for row in order.wishes.all():
        design = reader.design(row)
        for copy in range(1, row.quantity + 1):
            for n in range(len(wants_in(design))):
                yield row.pk, copy, place_name(design, n)


def _parts(order, reader):
    has = Counter()
    for each in order.taken_parts.all():
        has[each.item.part] += each.count
        if each.used != PARTS_USED.get(order.state):
            yield f"{order} is {order.state}, and used of its {each.item.part}: {each.used}"
    wants = parts_of(order, reader) if order.state in PARTS_USED else Counter()
    if has != wants:
        yield f"{order} is {order.state}, has parts {dict(has)}, wants {dict(wants)}"


def _way(order):
    """Follow an order's steps: each must lead on from the one before."""
    at = State.DRAFT
    for each in order.way:
        if State(each.state) not in STEPS[at]:
            yield f"{order} went from {at} to {each.state}"
        at = State(each.state)
    if at != order.state:
        yield f"{order} is {order.state}, its steps say {at}"


def digest():
    """Return what stands for every row of these rooms: two that are equal are one shop."""
    seen = hashlib.sha256()
    for room in ROOMS:
        for model in apps.get_app_config(room).get_models():
            for row in model._default_manager.order_by("pk").values_list():
                seen.update(repr(row).encode())
    return seen.hexdigest()
