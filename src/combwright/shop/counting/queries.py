"""Reading the counting rounds, and what a proposal is made from; never the whole ledger."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from django.db.models import Count, F, Max, Q, QuerySet, Sum
from django.utils import timezone

from combwright.shop.counting.models import Ask, LastCount, Round
from combwright.shop.counting.proposals import Candidate
from combwright.shop.rack.models import Bin, Entry, Line

#: Plates that left a bin count for so many days, and only in the newest lines of the ledger.
TAKEN_DAYS: Final = 60
TAKEN_LINES: Final = 8_000
#: Entries that change what a bin should hold to what was seen, as a count does.
SETTLING: Final = (Entry.COUNTED, Entry.IMPORTED, Entry.CORRECTED)


@dataclass(frozen=True, slots=True)
class Scope:
    """Which bins a round is about; empty fields leave nothing out."""

    place: str = ""
    batch: str = ""
    midi: int | None = None


def candidates(scope: Scope) -> Iterator[Candidate]:
    """Give the bins that might be counted; those that an open round asks for are left out.

    Three questions to the database, whatever the rack's size.
    """
    last = dict(LastCount.objects.values_list("bin_id", "change"))
    taken = taken_lately()
    rows = _within(scope).values_list("pk", "code", "walk", "count", "counted_at").order_by()
    for key, code, walk, count, counted_at in rows:
        yield Candidate(
            key, code, walk, count, counted_at, last.get(key, 0), taken.get(key, 0)
        )  # fmt: skip


def _within(scope: Scope) -> QuerySet[Bin]:
    asked = Ask.objects.filter(round__closed_at=None).values("bin_id")
    bins = Bin.objects.exclude(pk__in=asked)
    if scope.place:
        bins = bins.filter(Q(walk__istartswith=scope.place) | Q(code__istartswith=scope.place))
    if scope.batch:
        bins = bins.filter(batch__code=scope.batch)
    if scope.midi is not None:
        bins = bins.filter(midi=scope.midi)
    return bins


def taken_lately() -> Mapping[int, int]:
    """Return how many plates left each bin lately, from the newest lines of the ledger."""
    newest = Line.objects.aggregate(newest=Max("pk", default=0))["newest"]
    since = timezone.now() - timedelta(days=TAKEN_DAYS)
    rows = (
        Line.objects.filter(pk__gt=newest - TAKEN_LINES, change__lt=0, entry__made_at__gte=since)
        .exclude(entry__why__in=SETTLING)
        .values_list("bin_id")
        .annotate(Sum("change"))
        .order_by()
    )
    return {key: -change for key, change in rows}


def newest_line(key: int) -> int:
    """Return the number of a bin's newest ledger line, 0 when it has none."""
    newest = Line.objects.filter(bin_id=key).order_by("-id").values_list("pk", flat=True).first()
    return newest or 0


def lines_since(key: int, line: int) -> list[Line]:
    """Return what changed a bin after a ledger line, oldest first, ten at most."""
    since = Line.objects.filter(bin_id=key, pk__gt=line).exclude(change=0).order_by("-id")
    return list(since.select_related("entry__made_by")[:10])[::-1]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a round is."""

    asked: int
    counted: int
    skipped: int
    differing: int

    @property
    def left(self) -> int:
        """Bins that are neither counted nor skipped."""
        return self.asked - self.counted - self.skipped


def progress(rounds: QuerySet[Round] | list[Round]) -> Mapping[int, Progress]:
    """Return how far each of some rounds is; one question for all of them."""
    counted = Q(found__isnull=False)
    rows = (
        Ask.objects.filter(round__in=[each.pk for each in rounds])
        .values("round_id")
        .annotate(
            asked=Count("pk"),
            counted=Count("pk", filter=counted),
            left_out=Count("pk", filter=Q(skipped=True, found=None)),
            differing=Count("pk", filter=counted & ~Q(found=F("held_then"))),
        )
        .order_by()
    )
    return {
        row["round_id"]: Progress(row["asked"], row["counted"], row["left_out"], row["differing"])
        for row in rows
    }


def asks_of(round_: Round) -> list[Ask]:
    """Return a round's bins along the walk, with who counted them."""
    return list(round_.asks.select_related("bin__batch", "counted_by"))


def next_ask(round_: Round, after: int = 0) -> Ask | None:
    """Return the next bin to count: along the walk, from the start again, skipped ones last."""
    left = round_.asks.filter(found=None).order_by("place")
    fresh = left.filter(skipped=False)
    return fresh.filter(place__gt=after).first() or fresh.first()
