"""Everything that changes orders; each change is a step of the order's timeline."""

from collections.abc import Collection, Mapping
from typing import Any, Final

from django.db import IntegrityError, transaction
from django.db.models import F, Max
from django.utils.translation import gettext as _

from combwright.errors import CombwrightError
from combwright.shop.orders.listening import tell_listeners
from combwright.shop.orders.models import Order, Step, Wish
from combwright.shop.orders.places import check_number
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import STATES, State, check_step
from combwright.shop.people.models import Person

#: While an order is in one of these states its wishes can be changed.
CHANGEABLE: Final = frozenset({State.DRAFT.value, State.OPEN.value})
_TRIES: Final = 20


class NotSo(CombwrightError):
    """Something that cannot be done with an order as it is."""


class ChangedMeanwhile(NotSo):
    """Somebody else changed the order since it was looked at."""

    def __init__(self, number: str) -> None:
        super().__init__(
            _("Order %s was changed by somebody else meanwhile; look at it again.") % number
        )


@transaction.atomic
def make_order(
    person: Person | None, facts: Mapping[str, Any], wishes: list[Mapping[str, Any]]
) -> Order:
    """Make an order with its wishes, to be designed further or opened.

    Parameters
    ----------
    person : Person or None
        Who made it; None for another program.
    facts : mapping
        Fields of the order; without a `number` it gets the next one.
    wishes : list of mapping
        Fields of each wish, in order.

    Raises
    ------
    NotSo
        If there is an order of that number.
    BadNumber
        If no page could be found by its number.
    """
    said = dict(facts)
    if said.get("number"):
        check_number(said["number"])
    order = _numbered(person, said.pop("number", ""), said)
    for row, each in enumerate(wishes, start=1):
        Wish.objects.create(order=order, row=row, **each)
    tell(order, person, _("made"))
    return order


def _numbered(person: Person | None, number: str, said: Mapping[str, Any]) -> Order:
    for _again in range(_TRIES):
        tried = number or next_number()
        try:
            if number and Order.objects.filter(number=tried).exists():
                raise NotSo(_("There is an order %s already; choose another number.") % tried)
            with transaction.atomic():
                return Order.objects.create(number=tried, made_by=person, **said)
        except IntegrityError:
            # Somebody made one of that number in the same moment; anything else is not ours.
            if not Order.objects.filter(number=tried).exists():
                raise
    raise NotSo(_("Many orders are made just now; try again."))


def next_number() -> str:
    """Return a number that no order has yet: one more than the newest order's key."""
    newest = Order.objects.aggregate(newest=Max("pk"))["newest"] or 0
    number = newest + 1
    while Order.objects.filter(number=f"W-{number:04d}").exists():
        number += 1
    return f"W-{number:04d}"


def tell(order: Order, person: Person | None, words: str, *, state: str = "") -> None:
    """Write a step of the order's timeline."""
    Step.objects.create(order=order, by=person, words=words[:300], state=state)


def locked(order: Order, *, seen: int | None = None) -> Order:
    """Return the order as it is now, for this transaction alone.

    Parameters
    ----------
    order : Order
        As it was looked at.
    seen : int or None
        The version that the person looked at.

    Raises
    ------
    ChangedMeanwhile
        If it has another version now.
    """
    there = Order.objects.select_for_update().get(pk=order.pk)
    if seen is not None and there.version != seen:
        raise ChangedMeanwhile(there.number)
    return there


def only_while(order: Order, *states: State) -> None:
    """Make sure that a locked order is in one of some states.

    A step may lead to one state from several; an action that is meant for one of them asks first.

    Raises
    ------
    NotSo
        If it is in another state.
    """
    if order.state in states:
        return
    words = {value: str(label) for value, label in STATES}
    facts = {
        "number": order.number, "state": words[order.state],
        "states": ", ".join(words[each] for each in states),
    }  # fmt: skip
    raise NotSo(
        _("Order %(number)s is %(state)s; this can be done while it is: %(states)s.") % facts
    )


def advance(order: Order, state: State, person: Person | None, words: str) -> None:
    """Bring a locked order into another state.

    Raises
    ------
    NoSuchStep
        If that does not follow from its state.
    """
    check_step(order.number, order.state, state)
    order.state = state.value
    order.version += 1
    order.save(update_fields=["state", "version"])
    tell(order, person, words, state=state.value)
    tell_listeners([order], state)


def advance_all(orders: Collection[Order], state: State, person: Person | None, words: str) -> None:
    """Bring many locked orders into another state, as `advance` does, in a few queries.

    Raises
    ------
    NoSuchStep
        If that does not follow from the state of one of them; then none is changed.
    """
    for order in orders:
        check_step(order.number, order.state, state)
    keys = [each.pk for each in orders]
    Order.objects.filter(pk__in=keys).update(state=state.value, version=F("version") + 1)
    for order in orders:
        order.state = state.value
        order.version += 1
    Step.objects.bulk_create(
        Step(order=each, by=person, words=words[:300], state=state.value) for each in orders
    )
    tell_listeners(list(orders), state)


@transaction.atomic
def open_order(order: Order, person: Person | None, *, seen: int | None = None) -> Order:
    """Let an order into plans, once every wish of it can be built as it is written.

    Raises
    ------
    NotSo
        If it is no draft, is empty, or one of its wishes cannot be; or as `locked`.
    """
    there = locked(order, seen=seen)
    only_while(there, State.DRAFT)
    wishes = list(there.wishes.select_related("order"))
    if not wishes:
        raise NotSo(_("Order %s is empty; add an instrument or loose plates.") % there.number)
    reader = Reader()
    for each in wishes:
        reader.design(each)
    advance(there, State.OPEN, person, _("opened for planning"))
    return there


@transaction.atomic
def back_to_draft(order: Order, person: Person, *, seen: int | None = None) -> Order:
    """Take an open order out of plans again, to be designed further."""
    there = locked(order, seen=seen)
    advance(there, State.DRAFT, person, _("taken back to be designed"))
    return there


@transaction.atomic
def change_order(order: Order, person: Person, facts: Mapping[str, Any], *, seen: int) -> Order:
    """Change an order's own facts: due, priority, value, customer, note."""
    there = locked(order, seen=seen)
    changed = [name for name, value in facts.items() if getattr(there, name) != value]
    for name in changed:
        setattr(there, name, facts[name])
    if changed:
        there.version += 1
        there.save(update_fields=[*changed, "version"])
        labels = {each.name: str(each.verbose_name) for each in Order._meta.fields}
        names = ", ".join(labels[name] for name in changed)
        tell(there, person, _("changed: %s") % names)
    return there


def check_changeable(order: Order) -> None:
    """Make sure that an order's wishes can be changed.

    Raises
    ------
    NotSo
        If plates were set aside for it, or it is further on.
    """
    if order.state not in CHANGEABLE:
        raise NotSo(
            _("Order %(number)s is %(state)s; give its plates back before changing its wishes.")
            % {"number": order.number, "state": order.get_state_display()}
        )


@transaction.atomic
def save_wish(
    order: Order, person: Person, wish: Wish | None, facts: Mapping[str, Any], *, seen: int
) -> Wish:
    """Add a wish to an order, or change one of its wishes.

    Raises
    ------
    NotSo
        If the order is too far on; or as `locked`.
    """
    there = locked(order, seen=seen)
    check_changeable(there)
    if wish is None:
        last = there.wishes.aggregate(last=Max("row"))["last"] or 0
        saved = Wish.objects.create(order=there, row=last + 1, **facts)
        tell(there, person, _("row %d added") % saved.row)
    else:
        saved = there.wishes.get(pk=wish.pk)
        for name, value in facts.items():
            setattr(saved, name, value)
        saved.save()
        tell(there, person, _("row %d changed") % saved.row)
    if there.state == State.OPEN:
        Reader().design(saved)
    there.version += 1
    there.save(update_fields=["version"])
    return saved
