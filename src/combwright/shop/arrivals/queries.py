"""Reading measured samples: how far each is, bin by bin, and the means it found."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import Final

from django.db.models import Count, Q, QuerySet

from combwright.inspection.plans import Verdict, verdict
from combwright.shop.arrivals.models import Draw, Inspection, Reading
from combwright.shop.rack.models import MILLICENTS_PER_CENT, Batch, Bin

#: A mean of so many plates or more, none of them bad, is ticked from the start.
ENOUGH: Final = 3


@dataclass(frozen=True, slots=True)
class Progress:
    """What was measured so far, and what it says."""

    measured: int
    bad: int
    sample: int
    verdict: Verdict

    @property
    def left(self) -> int:
        """Plates of the sample that are not measured."""
        return self.sample - self.measured


def progress(inspection: Inspection) -> Progress:
    """Return how far a sample is; struck readings do not count."""
    counted = Reading.objects.filter(inspection=inspection, struck_at=None).aggregate(
        measured=Count("pk"), bad=Count("pk", filter=Q(bad=True))
    )
    said = verdict(inspection.plan, counted["bad"], counted["measured"])
    return Progress(counted["measured"], counted["bad"], inspection.sample, said)


@dataclass(frozen=True, slots=True)
class BinRow:
    """A bin of the sample: how many plates of it are measured, and their mean and spread."""

    draw: Draw
    measured: int
    broken: int
    bad: int
    mean: float | None
    spread: float | None

    @property
    def left(self) -> int:
        """Plates of the bin still to be measured."""
        return self.draw.plates - self.measured

    @property
    def millicents(self) -> int:
        """The mean in whole thousandths of a cent."""
        return round((self.mean or 0) * MILLICENTS_PER_CENT)

    @property
    def before_cents(self) -> float:
        """What the bin's offset was before the mean was taken over."""
        return (self.draw.before or 0) / MILLICENTS_PER_CENT

    @property
    def after_cents(self) -> float:
        """What the bin's offset became."""
        return (self.draw.after or 0) / MILLICENTS_PER_CENT

    @property
    def enough(self) -> bool:
        """Whether the mean is of plates enough, and of good ones, to be offered ticked."""
        return self.bad == 0 and self.measured >= ENOUGH


def bin_rows(inspection: Inspection, readings: Sequence[Reading]) -> list[BinRow]:
    """Return the bins of a sample along the walk, with what was measured of each."""
    by_bin: Mapping[int, list[Reading]] = defaultdict(list)
    for each in readings:
        if each.struck_at is None:
            by_bin[each.bin_id].append(each)
    draws = inspection.draws.select_related("bin__batch")
    return [_row(draw, by_bin[draw.bin_id]) for draw in draws]


def _row(draw: Draw, readings: Sequence[Reading]) -> BinRow:
    cents = [each.cents for each in readings if each.cents is not None]
    return BinRow(
        draw=draw,
        measured=len(readings),
        broken=len(readings) - len(cents),
        bad=sum(each.bad for each in readings),
        mean=fmean(cents) if cents else None,
        spread=stdev(cents) if len(cents) > 1 else None,
    )


def readings_of(inspection: Inspection) -> list[Reading]:
    """Return every reading of a sample, newest first, struck ones too."""
    return list(inspection.readings.select_related("bin", "by", "struck_by"))


def inspections(batch: str = "") -> QuerySet[Inspection]:
    """Return the samples, newest first, with how much of each is measured."""
    found = Inspection.objects.select_related("batch", "made_by").annotate(
        measured=Count("readings", filter=Q(readings__struck_at=None)),
        bad=Count("readings", filter=Q(readings__struck_at=None, readings__bad=True)),
    )
    return (found.filter(batch__code=batch) if batch else found).order_by("-id")


def bins_of(batch: Batch) -> list[Bin]:
    """Return a batch's bins that hold plates, along the walk."""
    return list(batch.bins.filter(count__gt=0))
