"""Orders that programs send: taken in once, or told apart from what came before."""

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import Any, Final

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from combwright.errors import CombwrightError
from combwright.files.wishes import BadWish
from combwright.shop.api import problems
from combwright.shop.api.faults import Fault, in_one_line
from combwright.shop.api.hook_models import Received
from combwright.shop.api.order_given import CustomerIn, OrderIn
from combwright.shop.api.problems import Problem
from combwright.shop.orders import actions as order_actions
from combwright.shop.orders.customer_actions import make_customer
from combwright.shop.orders.models import Customer, Order, Wish
from combwright.shop.orders.reading import Reader
from combwright.shop.people.models import Person
from combwright.shop.rack.actions import NotSo

#: The parts of a wish that are read one by one, so that each fault is told at its place.
_PARTS: Final = ("key", "layout", "changes", "kit", "temperament", "comb")


@contextmanager
def refusing() -> Iterator[None]:
    """Turn what a room of the shop refuses into what a program is told."""
    try:
        yield
    except (NotSo, Problem):
        raise
    except CombwrightError as error:
        raise NotSo(str(error)) from error


def take_in(person: Person, body: OrderIn) -> Order:
    """Make an order that a program sends, with its customer; the same one sent again is found.

    Raises
    ------
    Problem
        If wishes of it cannot be built as they are written; each fault is named.
    NotSo
        If its number is taken, or its outer key came with another order.
    """
    digest = hashlib.sha256(body.model_dump_json().encode()).hexdigest()
    known = _known(body, digest)
    if known is not None:
        return known
    _check_wishes(body)
    try:
        with transaction.atomic(), refusing():
            return _made(person, body, digest)
    except (IntegrityError, NotSo):
        # Another request may have brought the same order in this moment.
        known = _known(body, digest)
        if known is None:
            raise
        return known


def _known(body: OrderIn, digest: str) -> Order | None:
    if body.outer_key is None:
        return None
    found = Order.objects.filter(outer_key=body.outer_key).first()
    if found is None:
        return None
    if not Received.objects.filter(order=found, digest=digest).exists():
        facts = {"key": body.outer_key, "order": found.number}
        raise NotSo(
            _("The outer key %(key)s came with order %(order)s, whose contents were others; "
              "take a new key, or change the order in the shop.") % facts
        )  # fmt: skip
    return found


def _made(person: Person, body: OrderIn, digest: str) -> Order:
    customer = _customer(person, body.customer) if body.customer else None
    facts = {**body.facts(), "customer": customer}
    made = order_actions.make_order(person, facts, [each.facts() for each in body.wishes])
    if body.outer_key is not None:
        Received.objects.create(order=made, digest=digest)
    return made if body.draft else order_actions.open_order(made, person)


def _customer(person: Person, said: CustomerIn) -> Customer:
    """Return the customer of that name and email, or a new one."""
    facts = said.facts()
    if said.email:
        same = Customer.objects.filter(erased_at=None, name=said.name, email__iexact=said.email)
        known = same.order_by("pk").first()
        # Data that came to differ are written down anew: nobody's address is changed unseen.
        if known and all(not v or getattr(known, k) == v for k, v in facts.items() if k != "email"):
            return known
    return make_customer(person, facts)


def _check_wishes(body: OrderIn) -> None:
    faults = list(_faults(body))
    if faults:
        raise Problem(problems.BAD_WISH, in_one_line(faults), errors=faults)


def _faults(body: OrderIn) -> Iterator[Fault]:
    reader, order = Reader(), Order(number=body.order or "")
    for n, said in enumerate(body.wishes):
        wish = Wish(order=order, row=n + 1, **said.facts())
        found = list(_faults_of_parts(reader, wish)) or list(_faults_together(reader, wish))
        for part, text in found:
            yield {"pointer": f"#/wishes/{n}/{part}" if part else f"#/wishes/{n}", "detail": text}


def _faults_of_parts(reader: Reader, wish: Wish) -> Iterator[tuple[str, str]]:
    """Give the parts that cannot be read, each by itself: the others are as they always can be."""
    for part in _PARTS:
        plain: dict[str, Any] = {
            "key": "C", "layout": "standard", "changes": "", "kit": "", "temperament": "equal",
            "comb": "", part: getattr(wish, part),
        }  # fmt: skip
        try:
            reader.wish(Wish(a4=Decimal(440), **plain))
        except CombwrightError as error:
            yield part, str(error)


def _faults_together(reader: Reader, wish: Wish) -> Iterator[tuple[str, str]]:
    """Give what does not go together, at the part that is to blame."""
    try:
        reader.design(wish)
    except CombwrightError as error:
        cause = error.__cause__
        if isinstance(cause, BadWish):
            yield from cause.problems
        else:
            yield "", str(cause or error)
