"""Where the plates of a batch went: its ledger, added up and line by line.

Only the lines of the batch's own bins are read, never the whole ledger. Rooms that take plates
further will add what became of them to `destinations`.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Count, Q, QuerySet, Sum
from django.utils.translation import gettext as _

from combwright.shop.designs import queries as designs
from combwright.shop.rack.models import Batch, Bin, Entry, Item, ItemLine, Line, Plate


@dataclass(frozen=True, slots=True)
class Destination:
    """One way that plates came or went.

    Parameters
    ----------
    why : str
        One of `Entry.WHYS`.
    name : str
        What it is called.
    came, went : int
        Plates into the batch's bins, and out of them; both 0 or more.
    lines : int
        How many lines of the ledger did it.
    """

    why: str
    name: str
    came: int
    went: int
    lines: int


@dataclass(frozen=True, slots=True)
class Summary:
    """All the ways, and what is there; `came` - `went` is `there`, unless there is a bug."""

    ways: tuple[Destination, ...]
    there: int

    @property
    def came(self) -> int:
        """Plates that came in, whichever way."""
        return sum(each.came for each in self.ways)

    @property
    def went(self) -> int:
        """Plates that went out, whichever way."""
        return sum(each.went for each in self.ways)

    @property
    def adds_up(self) -> bool:
        """Whether what came less what went is what is there."""
        return self.came - self.went == self.there


@dataclass(frozen=True, slots=True)
class Opened:
    """A set or a donor of the batch: how many are left, were opened, and lost plates over it."""

    item: Item
    opened: int
    lost: int | None


def destinations(batch: Batch) -> tuple[Destination, ...]:
    """Add up a batch's lines by why they were written, in the order of `Entry.WHYS`; one query.

    What was taken back counts under `corrected`, with what it took back in its name, so that
    nothing is hidden by being summed with its opposite.
    """
    rows = (
        lines_of(batch)
        .order_by()
        .values_list("entry__why", "entry__corrects__why")
        .annotate(
            came=Sum("change", filter=Q(change__gt=0), default=0),
            went=Sum("change", filter=Q(change__lt=0), default=0),
            lines=Count("pk"),
        )
    )
    names = {why: str(name) for why, name in Entry.WHYS}
    order = {why: place for place, why in enumerate(names)}
    found = sorted(rows, key=lambda row: (order[row[0]], order.get(row[1], -1)))
    return tuple(
        Destination(why, _name(names, why, undone), came, -went, lines)
        for why, undone, came, went, lines in found
    )


def _name(names: dict[str, str], why: str, undone: str | None) -> str:
    if undone is None:
        return names[why]
    return _("taken back: %(what)s") % {"what": names[undone]}


def summary(batch: Batch) -> Summary:
    """Return all the ways and what is there; two queries."""
    there = batch.bins.aggregate(plates=Sum("count", default=0))["plates"]
    return Summary(destinations(batch), there)


def lines_of(batch: Batch) -> QuerySet[Line]:
    """Return the ledger's lines of a batch's bins.

    The bins are named by their keys: a database that joins them may walk through the whole ledger.
    """
    bins = list(Bin.objects.filter(batch=batch).order_by().values_list("pk", flat=True))
    return Line.objects.filter(bin__in=bins)


def told_lines(batch: Batch) -> QuerySet[Line]:
    """Return the lines with what a page shows of them."""
    return lines_of(batch).select_related("bin", "entry", "entry__made_by", "entry__corrects")


def plates_of(batch: Batch) -> QuerySet[Plate]:
    """Return the batch's plates that have labels of their own, with where they are."""
    return Plate.objects.filter(batch=batch).select_related("bin").order_by("code")


def opened_of(batch: Batch) -> tuple[Opened, ...]:
    """Return the batch's sets and donors, what was opened of them and what was lost; few queries.

    An opening that was taken back is none.
    """
    items = list(batch.items.exclude(kind=Item.PART).order_by("code"))
    opened = _openings(items)
    entries = [entry for each in opened.values() for entry in each]
    arrived = Counter[int]()
    for entry, change in Line.objects.filter(entry__in=entries).values_list("entry", "change"):
        arrived[entry] += change
    seats = _seats(items)
    return tuple(
        Opened(item, len(done), _lost(seats[item.layout], done, arrived))
        for item in items
        for done in (opened.get(item.pk, ()),)
    )


def _openings(items: Iterable[Item]) -> dict[int, list[int]]:
    """Return from each item's key the entries that opened one and were not taken back."""
    lines = ItemLine.objects.filter(
        item__in=list(items), entry__why=Entry.OPENED, change__lt=0, entry__corrections=None
    )
    found: dict[int, list[int]] = {}
    for item, entry in lines.order_by("pk").values_list("item", "entry"):
        found.setdefault(item, []).append(entry)
    return found


def _seats(items: Sequence[Item]) -> dict[str, int | None]:
    """Return how many plates each layout has; None where the shop does not know it any more."""
    if not items:
        return {}
    known = {each.code: len(each.layout.seats) for each in designs.layouts()}
    return {
        layout: known[layout] if layout in known else _retired(layout)
        for layout in {item.layout for item in items}
    }


def _retired(layout: str) -> int | None:
    try:
        return len(designs.layout(layout).seats)
    except designs.NoSuchDesign:
        return None


def _lost(seats: int | None, entries: Sequence[int], arrived: Counter[int]) -> int | None:
    return None if seats is None else sum(seats - arrived[entry] for entry in entries)
