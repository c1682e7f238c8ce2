"""Reading the store: sets, donors and parts, their ledger, and the proof that it adds up."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from django.db.models import Count, F, Q, QuerySet, Sum

from combwright.shop.rack.models import Entry, Item, ItemLine
from combwright.shop.rack.queries import Fault


@dataclass(frozen=True, slots=True)
class ItemSearch:
    """What to look for in the store; empty fields look for everything."""

    text: str = ""
    kind: str = ""
    there: bool = False


def items_found(search: ItemSearch) -> QuerySet[Item]:
    """Return the items that a search finds, kind by kind along the walk, with their batches."""
    found = Item.objects.select_related("batch")
    if search.text:
        text = search.text
        found = found.filter(
            Q(code__icontains=text)
            | Q(about__icontains=text)
            | Q(part__icontains=text)
            | Q(walk__icontains=text)
            | Q(batch__code__icontains=text)
        )
    if search.kind:
        found = found.filter(kind=search.kind)
    if search.there:
        found = found.filter(count__gt=0)
    return found


def lines_of(item: Item) -> QuerySet[ItemLine]:
    """Return an item's ledger, newest first, with what was done and by whom."""
    return ItemLine.objects.filter(item=item).select_related("entry", "entry__made_by")


def last_line(item: Item, *, before: Entry | None = None) -> ItemLine | None:
    """Return the newest line of an item's ledger, but for an entry that is just being written."""
    lines = lines_of(item).order_by("-id")
    return (lines.exclude(entry=before) if before else lines).first()


def store_totals() -> Mapping[str, int]:
    """Return how many sets, donors and parts there are."""
    return Item.objects.aggregate(
        sets=Sum("count", filter=Q(kind=Item.SET), default=0),
        donors=Sum("count", filter=Q(kind=Item.DONOR), default=0),
        parts=Count("pk", filter=Q(kind=Item.PART, count__gt=0)),
    )


def item_faults() -> Iterator[Fault]:
    """Give every item whose count is not the sum of its ledger; none, unless there is a bug."""
    summed = Item.objects.annotate(ledger=Sum("lines__change", default=0))
    for each in summed.exclude(count=F("ledger")).order_by("pk").iterator():
        yield Fault(each.code, each.count, each.ledger)
