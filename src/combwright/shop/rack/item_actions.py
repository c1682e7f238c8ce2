"""What is done with sets, donors and parts as wholes; opening them into plates is in `opening`."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.people.models import Person
from combwright.shop.rack import actions
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Batch, Entry, Item

#: The last words of an item's addresses: a name that ends in one would lead to that page.
PAGES: Final = frozenset({"receive", "count", "scrap", "open", "change", "hold"})


@dataclass(frozen=True, slots=True)
class NewItem:
    """What a new item is: of a set or a donor also key, layout and batch, of a part its name.

    Parameters
    ----------
    code : str
        What it is called here.
    kind : str
        One of `Item.KINDS`.
    layout : str
        The code of a layout that `designs.queries.layout` knows.
    part : str
        As combs name it in their lists of parts.
    """

    code: str
    kind: str
    about: str = ""
    key: str = ""
    layout: str = ""
    batch: str = ""
    part: str = ""
    walk: str = ""
    cost: Decimal = Decimal(0)


def make_item(person: Person, new: NewItem, *, came: int = 0, note: str = "") -> Item:
    """Make an item, and its batch when that is new; receive as many as came, if any did.

    Raises
    ------
    NotSo
        If there is an item of that name, the name cannot be used, or something is missing.
    """
    _check_new(new)
    taken = _("There is something called %(name)s already; choose another name, or receive more "
              "of it on its own page.") % {"name": new.code}  # fmt: skip
    if Item.objects.filter(code=new.code).exists():
        raise NotSo(taken)
    try:
        with transaction.atomic():
            item = _made(new)
            if came:
                receive_items(person, item, came, note=note)
    except IntegrityError as error:
        # Somebody made one of that name in the same moment.
        raise NotSo(taken) from error
    item.refresh_from_db()
    return item


def _made(new: NewItem) -> Item:
    batch = Batch.objects.get_or_create(code=new.batch)[0] if new.batch else None
    return Item.objects.create(
        code=new.code,
        kind=new.kind,
        about=new.about,
        key=new.key,
        layout=new.layout,
        batch=batch,
        part=new.part,
        walk=new.walk,
        cost=new.cost,
    )


def _check_new(new: NewItem) -> None:
    words = new.code.split("/")
    if not new.code.isprintable() or {"", ".", ".."} & set(words) or words[-1] in PAGES:
        raise NotSo(
            _("%(name)r cannot be a name here, as no page could have it; choose another name.")
            % {"name": new.code}
        )
    if new.kind == Item.PART:
        if not new.part:
            raise NotSo(_("Say which part %(name)s is, as combs name it.") % {"name": new.code})
        if new.key or new.layout or new.batch:
            raise NotSo(_("A part has no key, layout or batch; leave them empty."))
    elif not (new.key and new.layout and new.batch) or new.part:
        raise NotSo(_("A set or a donor needs a key, a layout and a batch, and is no part."))


@transaction.atomic
def receive_items(person: Person, item: Item, many: int, *, note: str = "") -> Entry:
    """Take some of an item into the store.

    Raises
    ------
    NotSo
        If there are none.
    """
    _check_number(many)
    return actions.post(person, Entry.RECEIVED, {}, items={item.pk: many}, note=note)


@transaction.atomic
def count_items(person: Person, item: Item, found: int, *, note: str = "") -> Entry:
    """Write down how many of an item were found; a count that agrees is written too.

    Raises
    ------
    NotSo
        If the number is below 0.
    """
    if found < 0:
        raise NotSo(_("A count of %d cannot be; 0 is the least.") % found)
    there = Item.objects.select_for_update().get(pk=item.pk)
    entry = actions.post(
        person, Entry.COUNTED, {}, items={there.pk: found - there.count}, note=note
    )
    Item.objects.filter(pk=there.pk).update(counted_at=timezone.now())
    return entry


@transaction.atomic
def scrap_items(person: Person, item: Item, many: int, *, note: str) -> Entry:
    """Take some of an item out of the store for good.

    Raises
    ------
    NotEnough
        If there are fewer.
    """
    _check_number(many)
    return actions.post(person, Entry.SCRAPPED, {}, items={item.pk: -many}, note=note)


def _check_number(many: int) -> None:
    if many < 1:
        raise NotSo(_("%d cannot be; give 1 or more.") % many)
