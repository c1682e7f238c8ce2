"""Taking an order's plates out of their bins: each one by itself, and each in the ledger.

A phone in front of the racks loses its connection: whatever is sent twice is done once.
"""

from collections.abc import Collection

from django.db import transaction
from django.utils.translation import gettext as _

from combwright.allocation.answer import Placed
from combwright.allocation.eligible import reach
from combwright.allocation.orders import Want
from combwright.allocation.reservations import place_name, wants_in
from combwright.allocation.substitutes import substitutes
from combwright.errors import CombwrightError
from combwright.shop.designs.queries import workshop
from combwright.shop.orders import actions as order_actions
from combwright.shop.orders.models import Order
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import State
from combwright.shop.people.models import Person
from combwright.shop.plans.asking import unclaimed_bins
from combwright.shop.plans.models import Taken, TakenPart
from combwright.shop.rack.models import Bin, Entry, Plate
from combwright.shop.rack.posting import Aside, post, put_aside

#: While an order is in one of these states, plates are taken out of bins for it.
PICKED_IN = (State.PICKING.value, State.BENCH.value)
_MILLICENTS_PER_CENT = 1000
_SEMITONE = 100 * _MILLICENTS_PER_CENT
_FAR = 7


class NotThus(CombwrightError):
    """Something that cannot be done with a plate as it is."""


@transaction.atomic
def begin(person: Person, orders: Collection[Order]) -> list[Order]:
    """Begin to pick one or several orders whose plates are set aside.

    Raises
    ------
    NotSo
        If one of them is in another state.
    """
    keys = [each.pk for each in orders]
    there = list(Order.objects.select_for_update().filter(pk__in=keys).order_by("pk"))
    for order in there:
        if order.state != State.PICKING:
            order_actions.only_while(order, State.ASIDE)
            order_actions.advance(order, State.PICKING, person, _("picking began"))
    return there


@transaction.atomic
def pick(person: Person, taken: Taken, *, plate: Plate | None = None) -> Taken:
    """Take a plate out of its bin; one that is picked already stays so.

    Parameters
    ----------
    person : Person
        Who takes it.
    taken : Taken
        What was set aside.
    plate : Plate or None
        The plate itself, where it has a label of its own.

    Raises
    ------
    NotThus
        If the order is not being picked, the plate is gone, held, or lies elsewhere.
    """
    there = _locked(taken)
    if there.state in (Taken.PICKED, Taken.FITTED):
        return there
    _check_picking(there.order)
    if there.state != Taken.ASIDE:
        raise NotThus(_("This plate is %s; choose another one.") % there.get_state_display())
    _check_not_held(there.bin)
    if plate is not None:
        # As it is now: somebody may have picked or moved it since it was looked at.
        plate = Plate.objects.select_for_update().get(pk=plate.pk)
    if plate is not None and plate.bin_id != there.bin_id:
        facts = {"plate": plate.code, "bin": there.bin.code}
        raise NotThus(_("Plate %(plate)s is none of bin %(bin)s; scan one from there.") % facts)
    there.entry = post(
        person, Entry.PICKED, {there.bin_id: -1}, aside=Aside({there.bin_id: -1}),
        note=f"{there.order.number}: {there.place}",
    )  # fmt: skip
    there.state, there.plate = Taken.PICKED, plate
    there.save(update_fields=["state", "entry", "plate"])
    if plate is not None:
        Plate.objects.filter(pk=plate.pk).update(bin=None, left_because=there.order.number)
    return there


@transaction.atomic
def unpick(person: Person, taken: Taken) -> Taken:
    """Put a plate that was picked back into its bin, where it stays set aside.

    Raises
    ------
    NotThus
        If its order is not being picked or built, or it is not picked.
    """
    there = _locked(taken)
    if there.state == Taken.ASIDE:
        return there
    _check_picking(there.order)
    if there.state != Taken.PICKED:
        facts = {"place": there.place, "state": there.get_state_display()}
        raise NotThus(
            _("The plate of %(place)s is %(state)s; only a picked one goes back.") % facts
        )
    there.entry = post(
        person, Entry.RETURNED, {there.bin_id: 1}, aside=Aside({there.bin_id: 1}),
        note=f"{there.order.number}: {there.place}",
    )  # fmt: skip
    if there.plate_id:
        Plate.objects.filter(pk=there.plate_id).update(bin=there.bin_id, left_because="")
    there.state, there.plate = Taken.ASIDE, None
    there.save(update_fields=["state", "entry", "plate"])
    return there


@transaction.atomic
def not_there(person: Person, taken: Taken) -> Taken:
    """Book a plate that the bin ought to hold and does not.

    Raises
    ------
    NotThus
        If it was picked, or booked before.
    """
    there = _locked(taken)
    _check_picking(there.order)
    if there.state != Taken.ASIDE:
        raise NotThus(_("This plate is %s, so it was there.") % there.get_state_display())
    there.entry = post(
        person, Entry.MISSING, {there.bin_id: -1}, aside=Aside({there.bin_id: -1}),
        note=f"{there.order.number}: {there.place}",
    )  # fmt: skip
    there.state = Taken.GONE
    there.save(update_fields=["state", "entry"])
    facts = {"place": there.place, "bin": there.bin.code}
    order_actions.tell(there.order, person, _("%(place)s was not in bin %(bin)s") % facts)
    return there


def want_of(taken: Taken, reader: Reader | None = None) -> Want:
    """Return what a taken plate's seat wants."""
    design = (reader or Reader()).design(taken.wish)
    wants = {place_name(design, n): want for n, want in enumerate(wants_in(design))}
    return wants[taken.place]


def options(taken: Taken, *, most: int = 5) -> tuple[Placed, ...]:
    """Return the free plates that may take the place of one that is gone, the cheapest first."""
    want, numbers = want_of(taken), workshop()
    up, down = reach(numbers)
    # A plate's name may be some semitones off its pitch, by as much as bins' offsets may be.
    low, high = want.midi - up // _SEMITONE - _FAR, want.midi + down // _SEMITONE + _FAR
    return substitutes(want, unclaimed_bins(range(low, high + 1)), numbers, most=most)


@transaction.atomic
def substitute(person: Person, gone: Taken, code: str) -> Taken:
    """Set another bin's plate aside for the seat of one that is gone.

    Raises
    ------
    NotThus
        If its order is not being picked or built, the seat has a plate, or the bin's plates do not
        suit it.
    SetAside
        If none of them is free any more.
    """
    there = _locked(gone)
    _check_picking(there.order)
    if there.state != Taken.GONE:
        raise NotThus(_("The seat %s has its plate.") % there.place)
    if (
        Taken.objects.filter(wish=there.wish, copy=there.copy, place=there.place)
        .exclude(state=Taken.GONE)
        .exists()
    ):
        raise NotThus(_("The seat %s has its plate.") % there.place)
    plate_bin = Bin.objects.select_related("batch").filter(code=code).first()
    if plate_bin is None:
        raise NotThus(_("There is no bin %s.") % code)
    found = substitutes(want_of(there), [plate_bin.as_stock()], workshop())
    if not found:
        facts = {"bin": code, "place": there.place}
        raise NotThus(_("The plates of bin %(bin)s do not suit %(place)s.") % facts)
    put_aside(Aside({plate_bin.pk: 1}))
    facts = {"place": there.place, "bin": code}
    order_actions.tell(there.order, person, _("%(place)s is taken from bin %(bin)s") % facts)
    return Taken.objects.create(
        order=there.order, wish=there.wish, copy=there.copy, place=there.place,
        label=there.label, midi=there.midi, wanted_mc=there.wanted_mc, bin=plate_bin,
        batch=plate_bin.batch, retune_mc=round(found[0].retune_cents * _MILLICENTS_PER_CENT),
        way=found[0].way, cost=plate_bin.cost, plan=there.plan,
    )  # fmt: skip


@transaction.atomic
def put_order_back(person: Person, order: Order, *, words: str = "") -> Order:
    """Put all plates of an order that is being picked back, and let it be planned anew.

    Raises
    ------
    NotSo
        If it is not being picked; from the bench it is taken apart instead.
    """
    there = order_actions.locked(order)
    order_actions.only_while(there, State.PICKING)
    order_actions.advance(there, State.OPEN, person, words or _("put back, to be planned anew"))
    return_all(person, there)
    return there


def return_all(person: Person, order: Order) -> None:
    """Return what lies picked to its bins, and release what is set aside, of a locked order."""
    taken = list(Taken.objects.filter(order=order, state__in=(Taken.ASIDE, Taken.PICKED)))
    picked: dict[int, int] = {}
    aside: dict[int, int] = {}
    for each in taken:
        side = picked if each.state == Taken.PICKED else aside
        side[each.bin_id] = side.get(each.bin_id, 0) + 1
    parts = TakenPart.objects.filter(order=order, used=False)
    items = {item: -many for item, many in parts.values_list("item_id", "count")}
    released = Aside({key: -many for key, many in aside.items()}, items)
    # In one go, so that all their bins are locked in the order of their keys.
    if picked:
        post(person, Entry.RETURNED, picked, aside=released, note=order.number)
    else:
        put_aside(released)
    for each in taken:
        if each.plate_id:
            Plate.objects.filter(pk=each.plate_id).update(bin=each.bin_id, left_because="")
    keys = [each.pk for each in taken]
    Taken.objects.filter(pk__in=keys).update(state=Taken.GONE)
    parts.delete()


@transaction.atomic
def to_the_bench(person: Person, order: Order) -> Order:
    """Bring an order whose plates are all picked to the bench; its parts leave the store.

    Raises
    ------
    NotThus
        If plates are still to be picked, or a seat has none.
    """
    there = order_actions.locked(order)
    if there.state == State.BENCH:
        return there
    order_actions.only_while(there, State.PICKING)
    missing = missing_places(there)
    if missing:
        raise NotThus(
            _("Order %(number)s still wants: %(places)s.")
            % {"number": there.number, "places": ", ".join(missing[:10])}
        )
    parts = list(TakenPart.objects.filter(order=there, used=False))
    used = {each.item_id: -each.count for each in parts}
    if used:
        post(person, Entry.BUILT, {}, items=used, aside=Aside({}, used), note=there.number)
        TakenPart.objects.filter(pk__in=[each.pk for each in parts]).update(used=True)
    order_actions.advance(there, State.BENCH, person, _("all plates picked"))
    return there


def missing_places(order: Order) -> list[str]:
    """Return the seats of an order whose plate is not picked, in the order of the wishes."""
    reader = Reader()
    picked = set(
        Taken.objects.filter(order=order, state__in=(Taken.PICKED, Taken.FITTED)).values_list(
            "wish_id", "copy", "place"
        )
    )
    missing = []
    for row in order.wishes.select_related("order").order_by("row"):
        design = reader.design(row)
        places = [place_name(design, n) for n in range(len(wants_in(design)))]
        for copy in range(1, row.quantity + 1):
            missing += [place for place in places if (row.pk, copy, place) not in picked]
    return missing


def _locked(taken: Taken) -> Taken:
    """Return a taken plate as it is now, its order locked first."""
    order_actions.locked(taken.order)
    found = Taken.objects.select_for_update(of=("self",)).select_related(
        "order", "bin__batch", "wish"
    )
    return found.get(pk=taken.pk)


def _check_not_held(plate_bin: Bin) -> None:
    if plate_bin.held:
        held = _("Bin %s is held") % plate_bin.code
    elif plate_bin.batch.held:
        because = plate_bin.batch.held_because
        held = _("Batch %s is held") % plate_bin.batch.code + (f" ({because})" if because else "")
    else:
        return
    raise NotThus(
        _("%s, so none of its plates is picked; put the order back, to be planned anew.") % held
    )


def _check_picking(order: Order) -> None:
    if order.state not in PICKED_IN:
        raise NotThus(
            _("Order %(number)s is %(state)s; begin to pick it first.")
            % {"number": order.number, "state": order.get_state_display()}
        )
