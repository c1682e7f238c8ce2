"""Taking a file of orders in: all of them or none."""

from datetime import timedelta
from typing import Final, cast

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.files.decimals import Mark
from combwright.shop.orders import actions
from combwright.shop.orders.actions import NotSo
from combwright.shop.orders.intake import Contents, read_contents
from combwright.shop.orders.models import Order, OrdersFile
from combwright.shop.people.models import Person

#: Files that nobody took in are thrown away after so many days, when the next one comes.
KEPT_DAYS: Final = 7


class Gone(NotSo):
    """A file that was taken in, or thrown away."""

    def __init__(self) -> None:
        super().__init__(_("This file was taken in before, or thrown away; send it once more."))


@transaction.atomic
def keep(person: Person, name: str, data: bytes, decimal: str = "") -> OrdersFile:
    """Keep a file until it is taken in; old ones are thrown away."""
    past = timezone.now() - timedelta(days=KEPT_DAYS)
    OrdersFile.objects.filter(made_at__lt=past).delete()
    return OrdersFile.objects.create(made_by=person, name=name, data=data, decimal=decimal)


def contents_of(file: OrdersFile) -> Contents:
    """Read a kept file again.

    Raises
    ------
    BadFile, BadTable
        As `read_contents`.
    """
    mark = cast("Mark", file.decimal) if file.decimal else None
    return read_contents(bytes(file.data), file.name, mark)


def take_in(person: Person, key: int, *, opened: bool) -> int:
    """Make the orders of a kept file; return how many.

    Parameters
    ----------
    person : Person
        Who takes them in.
    key : int
        Of the file.
    opened : bool
        Whether they are opened for planning at once, or stay drafts.

    Raises
    ------
    Gone
        If it was taken in before.
    BadFile
        If one of its orders cannot be made as the shop is now; none is made then.
    NotSo
        If somebody else made one of them in the same moment; none is made then.
    """
    try:
        with transaction.atomic():
            return _take_in(person, key, opened)
    except IntegrityError as error:
        raise NotSo(_("Somebody else made one of these orders just now; look again.")) from error


def _take_in(person: Person, key: int, opened: bool) -> int:
    file = OrdersFile.objects.select_for_update().filter(pk=key).first()
    if file is None:
        raise Gone
    said = contents_of(file).orders
    made: dict[str, Order] = {}
    for each in said:
        facts = {**each.facts(), "part_of": made.get(each.first)}
        order = actions.make_order(person, facts, list(each.wishes))
        actions.tell(order, person, _("taken in from %s") % file.name)
        made[each.number] = actions.open_order(order, person) if opened else order
    file.delete()
    return len(said)
