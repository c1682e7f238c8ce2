"""Building: plates go from the tray into their seats, one step at a time, each can be undone.

What breaks is replaced from the rack; what was filed and comes out again goes into a bin that tells
its true pitch.
"""

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.allocation.reservations import place_name, wants_in
from combwright.notes.names import HIGHEST_MIDI
from combwright.shop.bench.homes import divided, home_for
from combwright.shop.bench.picking import NotThus
from combwright.shop.orders import actions as order_actions
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import State
from combwright.shop.people.models import Person
from combwright.shop.plans.models import Taken
from combwright.shop.rack.models import Bin, Entry, Plate
from combwright.shop.rack.posting import post
from combwright.shop.register.models import Fitted, Instrument


@transaction.atomic
def begin_instrument(person: Person, wish: Wish, copy: int) -> Instrument:
    """Give a copy its serial number, when its first plate is about to go in; once.

    Raises
    ------
    NotThus
        If its order is not on the bench, or it is loose plates.
    """
    order = order_actions.locked(wish.order)
    _check_on_the_bench(order)
    known = Instrument.objects.filter(wish=wish, copy=copy, taken_apart_at=None).first()
    if known is not None:
        return known
    if wish.what != Wish.INSTRUMENT or not 1 <= copy <= wish.quantity:
        raise NotThus(
            _("Row %(row)d has no instrument %(copy)d.") % {"row": wish.row, "copy": copy}
        )
    made = Instrument.objects.create(
        serial=f"?{wish.pk}.{copy}", order=order, wish=wish, copy=copy, made_by=person,
        title=Reader().design(wish).title[:300],
    )  # fmt: skip
    # From the row's own number, which the database gives out once.
    made.serial = f"{made.pk:05d}"
    made.save(update_fields=["serial"])
    order_actions.tell(order, person, _("instrument %s begun") % made.serial)
    return made


@transaction.atomic
def fit(person: Person, taken: Taken) -> Fitted:
    """Seat a picked plate in its instrument; one that sits there already stays so.

    Raises
    ------
    NotThus
        If it is not picked, or is a kit's plate.
    """
    order, there = _locked(taken)
    _check_on_the_bench(order)
    if there.state == Taken.FITTED:
        return Fitted.objects.get(taken=there, taken_out_at=None)
    if there.state != Taken.PICKED or there.place.startswith("kit"):
        facts = {"place": there.place, "state": there.get_state_display()}
        raise NotThus(
            _("The plate of %(place)s is %(state)s; only a picked one is seated.") % facts
        )
    instrument = begin_instrument(person, there.wish, there.copy)
    hole, deck, breath = there.place.split()
    Taken.objects.filter(pk=there.pk).update(state=Taken.FITTED)
    return Fitted.objects.create(
        instrument=instrument, taken=there, hole=int(hole), deck=deck, breath=breath,
        midi=there.midi, wanted_mc=there.wanted_mc, batch_id=there.batch_id, put_in_by=person,
    )  # fmt: skip


@transaction.atomic
def take_out(person: Person, taken: Taken, *, because: str = "") -> Taken:
    """Undo a seating: the plate lies in the tray again."""
    order, there = _locked(taken)
    _check_on_the_bench(order)
    if there.state != Taken.FITTED:
        raise NotThus(_("There is no plate in %s to take out.") % there.place)
    fitted = Fitted.objects.filter(taken=there, taken_out_at=None)
    why = because or _("undone by %s") % person
    fitted.update(taken_out_at=timezone.now(), taken_out_because=why[:200])
    Taken.objects.filter(pk=there.pk).update(state=Taken.PICKED)
    there.state = Taken.PICKED
    return there


@transaction.atomic
def broke(person: Person, taken: Taken, *, because: str) -> Taken:
    """Write a plate off that broke on the bench; its seat then wants another one.

    Raises
    ------
    NotThus
        If it was not picked, or no reason is given.
    """
    order, there = _locked(taken)
    _check_on_the_bench(order)
    if not because.strip():
        raise NotThus(_("Say what happened to the plate of %s.") % there.place)
    if there.state == Taken.FITTED:
        there = take_out(person, there, because=because)
    if there.state != Taken.PICKED:
        facts = {"place": there.place, "state": there.get_state_display()}
        raise NotThus(_("The plate of %(place)s is %(state)s; only a picked one breaks.") % facts)
    Taken.objects.filter(pk=there.pk).update(state=Taken.GONE)
    if there.plate_id:
        Plate.objects.filter(pk=there.plate_id).update(left_because=because[:200])
    facts = {"place": there.place, "why": because}
    order_actions.tell(order, person, _("the plate of %(place)s broke: %(why)s") % facts)
    there.state = Taken.GONE
    return there


@transaction.atomic
def put_back_filed(person: Person, taken: Taken, *, pitch_mc: int) -> Bin:
    """Put a plate whose pitch has changed into a bin that tells its true pitch.

    Parameters
    ----------
    taken : Taken
        Picked, or in its seat; the seat then wants another plate.
    pitch_mc : int
        Its absolute pitch now, in thousandths of a cent above MIDI note 0.

    Raises
    ------
    NotThus
        If there is no such plate to put back, or no plate sounds so.
    """
    order, there = _locked(taken)
    _check_on_the_bench(order)
    if there.state == Taken.FITTED:
        there = take_out(person, there, because=_("put back into the rack"))
    if there.state != Taken.PICKED:
        raise NotThus(_("There is no plate of %s to put back.") % there.place)
    if not 0 <= divided(pitch_mc)[0] <= HIGHEST_MIDI:
        raise NotThus(_("No plate sounds like that; measure it again."))
    home = home_for(there.bin, pitch_mc)
    post(person, Entry.RETURNED, {home.pk: 1}, note=f"{order.number}: {there.place}")
    if there.plate_id:
        midi, cents = divided(pitch_mc)
        Plate.objects.filter(pk=there.plate_id).update(
            bin=home, left_because="", midi=midi, millicents=cents
        )
    Taken.objects.filter(pk=there.pk).update(state=Taken.GONE)
    facts = {"place": there.place, "bin": home.code}
    order_actions.tell(order, person, _("the plate of %(place)s lies in bin %(bin)s now") % facts)
    return home


@transaction.atomic
def finish(person: Person, order: Order) -> Order:
    """Say that all instruments of an order are built.

    Raises
    ------
    NotThus
        If a seat is empty that ought to hold a plate, or a kit's plate is missing.
    """
    there = order_actions.locked(order)
    _check_on_the_bench(there)
    empty = empty_places(there)
    if empty:
        raise NotThus(
            _("Order %(number)s is not built yet; still empty: %(places)s.")
            % {"number": there.number, "places": ", ".join(empty[:10])}
        )
    instruments = Instrument.objects.filter(order=there, taken_apart_at=None)
    instruments.update(finished_at=timezone.now())
    order_actions.advance(there, State.BUILT, person, _("built"))
    return there


@transaction.atomic
def back_to_the_bench(person: Person, order: Order) -> Order:
    """Take a built order back to the bench, as when something was found in playing it again.

    Raises
    ------
    NotThus
        If it is not built.
    """
    there = order_actions.locked(order)
    if there.state != State.BUILT:
        facts = {"number": there.number, "state": there.get_state_display()}
        raise NotThus(_("Order %(number)s is %(state)s; only a built one goes back.") % facts)
    order_actions.advance(there, State.BENCH, person, _("taken back to the bench"))
    Instrument.objects.filter(order=there, taken_apart_at=None).update(finished_at=None)
    return there


def empty_places(order: Order) -> list[str]:
    """Return the places of an order that still want their plate: seats fitted, kits picked."""
    reader = Reader()
    rows = Taken.objects.filter(order=order, state__in=(Taken.PICKED, Taken.FITTED))
    found = {(w, c, p): s for w, c, p, s in rows.values_list("wish_id", "copy", "place", "state")}
    empty = []
    for row in order.wishes.select_related("order").order_by("row"):
        design = reader.design(row)
        for copy in range(1, row.quantity + 1):
            for n in range(len(wants_in(design))):
                place = place_name(design, n)
                wanted = Taken.PICKED if place.startswith("kit") else Taken.FITTED
                if found.get((row.pk, copy, place)) != wanted:
                    empty.append(place)
    return empty


def _locked(taken: Taken) -> tuple[Order, Taken]:
    order = order_actions.locked(taken.order)
    found = Taken.objects.select_for_update(of=("self",))
    return order, found.select_related("order", "wish", "wish__order", "bin__batch").get(
        pk=taken.pk
    )


def _check_on_the_bench(order: Order) -> None:
    if order.state != State.BENCH:
        raise NotThus(
            _("Order %(number)s is %(state)s, not on the bench.")
            % {"number": order.number, "state": order.get_state_display()}
        )
