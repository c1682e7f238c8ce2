"""The ledger for programs: followed from the last number they saw, and corrected."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import Final

from django.db.models import Count, QuerySet
from django.utils.translation import gettext as _
from ninja import Path, Query, Router

from combwright.shop.api import problems
from combwright.shop.api.gate import Called
from combwright.shop.api.given import EntriesAsked, WhyBack
from combwright.shop.api.operations import reads, writes
from combwright.shop.api.problems import Problem
from combwright.shop.api.queries import settled
from combwright.shop.api.told import Entries, EntryTold
from combwright.shop.api.words import Number
from combwright.shop.people.roles import May
from combwright.shop.rack import actions
from combwright.shop.rack.models import Entry, ItemLine, Line

router = Router(tags=["Ledger"])
#: A part of the ledger ends early when it would have more lines: an import may have thousands.
MOST_LINES: Final = 5_000


@reads(router, "/entries", May.LOOK, Entries)
def list_entries(asked: Query[EntriesAsked]) -> Entries:
    """List what was done after a number, the oldest first; so a program misses nothing.

    A part has at most 5,000 lines, and at least one entry. An entry appears as soon as no earlier
    one can appear any more.
    """
    found = _entries().filter(pk__gt=asked.after).order_by("pk")
    if (limit := settled()) is not None:
        found = found.filter(pk__lte=limit)
    part = list(found[: asked.limit + 1])
    taken = list(_as_many_as_fit(part[: asked.limit]))
    return Entries(
        entries=_told(taken),
        next=taken[-1].pk if taken else asked.after,
        more=len(part) > len(taken),
    )


@reads(router, "/entries/{int:entry}", May.LOOK, EntryTold)
def show_entry(entry: Path[Number]) -> EntryTold:
    """Show one entry with all its lines."""
    return entry_told(_the_entry(entry))


@writes(router, "/entries/{int:entry}/take-back", May.CORRECT, EntryTold)
def take_back(request: Called, entry: Path[Number], body: WhyBack) -> EntryTold:
    """Undo an entry by writing its opposite; the entry itself stays."""
    return entry_told(actions.take_back(request.auth.person, _the_entry(entry), note=body.note))


def entry_told(entry: Entry) -> EntryTold:
    """Return an entry as programs get it."""
    return _told([entry])[0]


def _entries() -> QuerySet[Entry]:
    return Entry.objects.select_related("made_by").prefetch_related("corrections")


def _the_entry(number: int) -> Entry:
    found = _entries().filter(pk=number).first()
    if found is None:
        text = _("There is no entry %(number)d in the ledger.")
        raise Problem(problems.NOT_THERE, text % {"number": number})
    return found


def _as_many_as_fit(entries: Sequence[Entry]) -> Iterator[Entry]:
    numbers = [each.pk for each in entries]
    counted = Line.objects.filter(entry__in=numbers).values("entry").annotate(lines=Count("pk"))
    lines = dict(counted.order_by().values_list("entry", "lines"))
    total = 0
    for each in entries:
        total += lines.get(each.pk, 0)
        if total > MOST_LINES and each is not entries[0]:
            return
        yield each


def _told(entries: Sequence[Entry]) -> list[EntryTold]:
    numbers = [each.pk for each in entries]
    lines: dict[int, list[Line]] = defaultdict(list)
    for line in Line.objects.filter(entry__in=numbers).select_related("bin").order_by("pk"):
        lines[line.entry_id].append(line)
    items: dict[int, list[ItemLine]] = defaultdict(list)
    for each in ItemLine.objects.filter(entry__in=numbers).select_related("item").order_by("pk"):
        items[each.entry_id].append(each)
    return [EntryTold.of(each, lines[each.pk], items[each.pk]) for each in entries]
