"""The end of an order: sent, or cancelled with every plate given back."""

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.bench.building import home_for
from combwright.shop.bench.picking import return_all
from combwright.shop.orders import actions as order_actions
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.people.models import Person
from combwright.shop.plans.models import Taken, TakenPart
from combwright.shop.rack.models import Entry, Plate
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
    order_actions.advance(there, State.SENT, person, tracking or _("sent"))
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
    """
    there = order_actions.locked(order, seen=seen)
    order_actions.advance(there, State.CANCELLED, person, _("cancelled: %s") % because)
    _take_apart(person, there)
    return_all(person, there)
    used = TakenPart.objects.filter(order=there, used=True)
    items = {each.item_id: each.count for each in used}
    if items:
        post(person, Entry.RETURNED, {}, items=items, note=there.number)
        used.delete()
    return there


def _take_apart(person: Person, order: Order) -> None:
    """Return every fitted plate to a bin that tells its pitch."""
    now = timezone.now()
    fitted = Taken.objects.filter(order=order, state=Taken.FITTED)
    changes: dict[int, int] = {}
    for each in fitted.select_related("bin__batch"):
        # Built in means tuned: a plate that had to be retuned has its seat's pitch by now.
        home = each.bin if each.way == "none" else home_for(each.bin, each.wanted_mc)
        changes[home.pk] = changes.get(home.pk, 0) + 1
        if each.plate_id:
            Plate.objects.filter(pk=each.plate_id).update(bin=home, left_because="")
    if changes:
        post(person, Entry.RETURNED, changes, note=_("%s taken apart") % order.number)
    held = Fitted.objects.filter(instrument__order=order, taken_out_at=None)
    held.update(taken_out_at=now, taken_out_because=_("order cancelled"))
    fitted.update(state=Taken.GONE)
    Instrument.objects.filter(order=order).update(taken_apart_at=now)
