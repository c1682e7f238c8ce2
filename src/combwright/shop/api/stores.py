"""What is kept whole, for programs: factory sets, donor instruments and parts."""

from django.utils.translation import gettext as _
from ninja import Path, Query, Router

from combwright.shop.api import problems
from combwright.shop.api.deliveries import slice_told
from combwright.shop.api.gate import Called
from combwright.shop.api.given import (
    ItemIn,
    ItemsAsked,
    ItemsIn,
    ItemsWhy,
    OpenedPlate,
    OpenIn,
    OpeningAsked,
    PlatesFound,
)
from combwright.shop.api.ledger import entry_told
from combwright.shop.api.operations import reads, writes
from combwright.shop.api.problems import Problem
from combwright.shop.api.told import EntryTold, Items, ItemTold, OpeningProposed
from combwright.shop.api.words import AskedCode
from combwright.shop.designs.queries import NoSuchDesign, layout
from combwright.shop.people.roles import May
from combwright.shop.rack import item_actions, opening
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.item_queries import ItemSearch, items_found
from combwright.shop.rack.models import Item
from combwright.shop.rack.opening_actions import open_item

router = Router(tags=["Stores"])


def _the_item(code: str) -> Item:
    found = Item.objects.select_related("batch").filter(code=code).first()
    if found is None:
        raise Problem(problems.NOT_THERE, _("There is no %(item)r in the stores.") % {"item": code})
    return found


@reads(router, "/items", May.LOOK, Items)
def list_items(asked: Query[ItemsAsked]) -> Items:
    """List what is kept whole, in the order of its names."""
    search = ItemSearch(text=asked.text, kind=asked.kind or "", there=asked.there)
    found = items_found(search).order_by("code")
    if asked.after is not None:
        found = found.filter(code__gt=asked.after)
    part = list(found[: asked.limit + 1])
    told = [ItemTold.of(each) for each in part[: asked.limit]]
    return Items(items=told, next=told[-1].item if len(part) > asked.limit else None)


@reads(router, "/items/{path:item}", May.LOOK, ItemTold)
def show_item(item: Path[AskedCode]) -> ItemTold:
    """Show a set, a donor or a part."""
    return ItemTold.of(_the_item(item))


@writes(router, "/items", May.ARRANGE, ItemTold)
def make_item(request: Called, body: ItemIn) -> ItemTold:
    """Make a set, a donor or a part known, and receive as many as came."""
    _check_layout(body.layout)
    made = item_actions.make_item(
        request.auth.person, body.new_item(), came=body.came, note=body.note
    )
    return ItemTold.of(_the_item(made.code))


def _check_layout(name: str) -> None:
    try:
        if name:
            layout(name)
    except NoSuchDesign as error:
        raise NotSo(str(error)) from error


@writes(router, "/receive-items/{path:item}", May.RECEIVE, EntryTold)
def receive_items(request: Called, item: Path[AskedCode], body: ItemsIn) -> EntryTold:
    """Take some of an item into the stores."""
    there, who = _the_item(item), request.auth.person
    return entry_told(item_actions.receive_items(who, there, body.many, note=body.note))


@writes(router, "/count-items/{path:item}", May.COUNT, EntryTold)
def count_items(request: Called, item: Path[AskedCode], body: PlatesFound) -> EntryTold:
    """Write down how many of an item were found; a count that agrees is written too."""
    there, who = _the_item(item), request.auth.person
    return entry_told(item_actions.count_items(who, there, body.found, note=body.note))


@writes(router, "/scrap-items/{path:item}", May.TAKE, EntryTold)
def scrap_items(request: Called, item: Path[AskedCode], body: ItemsWhy) -> EntryTold:
    """Take some of an item out of the stores, for good."""
    there, who = _the_item(item), request.auth.person
    return entry_told(item_actions.scrap_items(who, there, body.many, note=body.note))


@reads(router, "/opening/{path:item}", May.TAKE, OpeningProposed)
def propose_opening(item: Path[AskedCode], asked: Query[OpeningAsked]) -> OpeningProposed:
    """Propose a bin for each plate of a set or a donor."""
    return _proposed(_the_item(item), asked.place)


@writes(router, "/open/{path:item}", May.TAKE, EntryTold)
def open_items(request: Called, item: Path[AskedCode], body: OpenIn) -> EntryTold:
    """Open one set or donor: it leaves the stores, and its plates arrive in their bins."""
    there = _the_item(item)
    plates = body.plates
    if plates is None:
        told = _proposed(there, body.place).plates
        plates = [OpenedPlate.model_validate(each.model_dump()) for each in told]
    lost = [each.cut or each.pitch for each in plates if each.lost]
    slices = [each.slice() for each in plates]
    note = opening.note_of(there, lost, body.note)
    return entry_told(open_item(request.auth.person, there, slices, note=note))


def _proposed(item: Item, place: str) -> OpeningProposed:
    if item.kind == Item.PART:
        text = _("%(name)s is a part; there are no plates in it.")
        raise Problem(problems.NOT_THERE, text % {"name": item.code})
    try:
        plates = opening.proposal(item, place, opening.cost_of_a_plate(item))
    except NoSuchDesign as error:
        raise Problem(problems.NOT_THERE, str(error)) from error
    told = [slice_told(each).model_dump() | {"lost": False} for each in plates]
    return OpeningProposed.model_validate({"plates": told})
