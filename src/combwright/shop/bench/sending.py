"""The end of an order: sent, or cancelled with every plate given back; or all the way back."""

from collections import Counter
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.bench.homes import divided, homes, pitch_of
from combwright.shop.bench.picking import NotThus, return_all
from combwright.shop.orders import actions as order_actions
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.people.models import Person
from combwright.shop.plans.models import Taken, TakenPart
from combwright.shop.rack.models import Bin, Entry, Item, Plate
from combwright.shop.rack.posting import post
from combwright.shop.register.models import Fitted, Instrument


@transaction.atomic
def send(person: Person, order: Order, *, tracking: str = "") -> Order:
    """Send a built order.

    Raises
    ------
    NoSuchStep
        If it is not built.
    """
    there = order_actions.locked(order)
    there.tracking = tracking
    there.save(update_fields=["tracking"])
    words = _("sent: %s") % tracking if tracking else _("sent")
    order_actions.advance(there, State.SENT, person, words)
    Instrument.objects.filter(order=there, taken_apart_at=None).update(sent_at=timezone.now())
    return there


@transaction.atomic
def cancel(person: Person, order: Order, *, because: str, seen: int | None = None) -> Order:
    """Cancel an order: what is set aside is free again, what was picked or built in goes back.

    A plate that was built in and filed goes into a bin that tells its true pitch. Parts that left
    the store come back.

    Raises
    ------
    NoSuchStep
        If it was sent, or cancelled before.
    NotThus
        If no reason is given.
    """
    there = order_actions.locked(order, seen=seen)
    if not because.strip():
        raise NotThus(_("Say why order %s is cancelled.") % there.number)
    was_built = there.state == State.BUILT
    order_actions.advance(there, State.CANCELLED, person, _("cancelled: %s") % because)
    _give_everything_back(person, there, was_built=was_built)
    return there


@transaction.atomic
def take_apart(person: Person, order: Order, *, seen: int | None = None) -> Order:
    """Take an order off the bench as if it had never been picked: it waits for the next plan.

    What was built in and filed goes into bins that tell the true pitch, as when it is cancelled.

    Raises
    ------
    NotSo
        If it is not on the bench.
    """
    there = order_actions.locked(order, seen=seen)
    order_actions.only_while(there, State.BENCH)
    order_actions.advance(there, State.OPEN, person, _("taken apart, to be planned anew"))
    _give_everything_back(person, there, was_built=False)
    return there


def _give_everything_back(person: Person, there: Order, *, was_built: bool) -> None:
    """Return all that a locked order holds: plates, where they belong now, and parts."""
    parts = TakenPart.objects.filter(order=there)
    keys = sorted(parts.values_list("item_id", flat=True))
    come_back = coming_back(there, was_built=was_built)
    touched = Taken.objects.filter(order=there, state__in=(Taken.ASIDE, Taken.PICKED))
    also = set(touched.order_by().values_list("bin_id", flat=True))
    # Everything that is going to be touched, first and in one order: bins, then items.
    places = homes([(each.bin, pitch) for each, pitch in come_back], also=also)
    list(Item.objects.select_for_update().filter(pk__in=keys).order_by("pk"))
    _take_apart(
        person, there, [(t, pitch, h) for (t, pitch), h in zip(come_back, places, strict=True)]
    )
    return_all(person, there)
    used = TakenPart.objects.filter(order=there, used=True)
    items = {each.item_id: each.count for each in used}
    if items:
        post(person, Entry.RETURNED, {}, items=items, note=there.number)
        used.delete()


def coming_back(order: Order, *, was_built: bool) -> list[tuple[Taken, int]]:
    """Return an order's plates that have been worked on, each with its pitch now.

    Built in means tuned: a plate that had to be retuned has its seat's pitch by now. So has a
    kit's plate, once the order is built.
    """
    which = Q(state=Taken.FITTED)
    if was_built:
        which |= Q(state=Taken.PICKED) & ~Q(way="none")
    worked_on = Taken.objects.filter(which, order=order).select_related("bin__batch")
    return [
        (each, pitch_of(each.bin) if each.way == "none" else each.wanted_mc) for each in worked_on
    ]


def _take_apart(person: Person, order: Order, back: list[tuple[Taken, int, Bin]]) -> None:
    """Return every plate that was worked on to a bin that tells its pitch."""
    now = timezone.now()
    changes = Counter(home.pk for _taken, _pitch, home in back)
    for each, pitch, home in back:
        if each.plate_id:
            _lay_back(each, pitch, home)
    if changes:
        post(person, Entry.RETURNED, changes, note=_("%s taken apart") % order.number)
    held = Fitted.objects.filter(instrument__order=order, taken_out_at=None)
    because = _("order cancelled") if order.state == State.CANCELLED else _("taken apart")
    held.update(taken_out_at=now, taken_out_because=because)
    keys = [each.pk for each, _pitch, _home in back]
    Taken.objects.filter(pk__in=keys).update(state=Taken.GONE)
    whole = Instrument.objects.filter(order=order, taken_apart_at=None)
    whole.update(taken_apart_at=now)


def _lay_back(taken: Taken, pitch_mc: int, home: Bin) -> None:
    """Say of a plate with a label where it lies now, and its pitch if it was filed."""
    where: dict[str, Any] = {"bin": home, "left_because": ""}
    if taken.way != "none":
        where["midi"], where["millicents"] = divided(pitch_mc)
    Plate.objects.filter(taken=taken).update(**where)
