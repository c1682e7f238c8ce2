"""Customers: made, changed, and erased on request."""

import hashlib
from collections.abc import Callable, Mapping
from typing import Any, Final

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.orders.actions import NotSo
from combwright.shop.orders.models import Customer, Order, Share, Step
from combwright.shop.orders.states import State
from combwright.shop.people import journal
from combwright.shop.people.models import Person

#: Called with whoever is erased while their data are still there, inside the transaction.
Forgetter = Callable[[Customer], None]
_FORGETTERS: Final[dict[str, Forgetter]] = {}
#: What is kept of a person.
PERSONAL: Final = ("name", "email", "phone", "address", "about")


def forget_too(forgetter: Forgetter) -> Forgetter:
    """Have a room above this one forget, too, what it keeps of somebody who is erased."""
    _FORGETTERS[f"{forgetter.__module__}.{forgetter.__qualname__}"] = forgetter
    return forgetter


def make_customer(person: Person, facts: Mapping[str, Any]) -> Customer:
    """Write a customer down."""
    made = Customer.objects.create(**facts)
    _journal("customer_made", made, person)
    return made


@transaction.atomic
def change_customer(
    customer: Customer, person: Person, facts: Mapping[str, Any], *, seen: str
) -> Customer:
    """Change what is known of a customer.

    Raises
    ------
    NotSo
        If their data were erased, or somebody else changed them since `seen`.
    """
    there = _kept(customer)
    if state_of(there) != seen:
        raise NotSo(
            _("Somebody else changed this customer meanwhile. What you typed is still here: look "
              "at theirs, then save yours over it.")
        )  # fmt: skip
    for name, value in facts.items():
        setattr(there, name, value)
    there.save(update_fields=list(facts))
    _journal("customer_changed", there, person)
    return there


def state_of(customer: Customer) -> str:
    """Return what tells whether a customer was changed since."""
    values = "\n".join(str(getattr(customer, name)) for name in PERSONAL)
    return hashlib.sha256(values.encode()).hexdigest()[:20]


@transaction.atomic
def erase_customer(customer: Customer, person: Person, *, notes: bool) -> None:
    """Forget a person: their orders and instruments stay, without them.

    Parameters
    ----------
    customer : Customer
        Whose data go.
    person : Person
        Who erases them.
    notes : bool
        Whether the notes and tracking notes of their orders go too, with what the timelines say of
        them: people write names there.

    Raises
    ------
    NotSo
        If they were erased before.
    """
    there, now = _kept(customer), timezone.now()
    for forget in _FORGETTERS.values():
        forget(there)
    there.name, there.erased_at = str(_("erased")), now
    there.email = there.phone = there.address = there.about = ""
    there.save()
    shares = Share.objects.filter(order__customer=there)
    shares.filter(withdrawn_at=None).update(withdrawn_at=now)
    shares.update(yes_name="", yes_words="")
    if notes:
        Order.objects.filter(customer=there).update(note="", tracking="")
        _plain_steps(there)
    _journal("customer_erased", there, person)


def _plain_steps(customer: Customer) -> None:
    """Leave of the steps that hold what somebody typed only what happened."""
    steps = Step.objects.filter(order__customer=customer)
    for state, words in ((State.SENT, _("sent")), (State.CANCELLED, _("cancelled"))):
        steps.filter(state=state.value).update(words=words)


def _kept(customer: Customer) -> Customer:
    there = Customer.objects.select_for_update().get(pk=customer.pk)
    if there.erased_at is not None:
        raise NotSo(_("This customer's data were erased; there is nothing left to change."))
    return there


def _journal(event: str, customer: Customer, person: Person) -> None:
    journal.write(event, {"customer": customer.pk, "by": person.name}, room="orders")
