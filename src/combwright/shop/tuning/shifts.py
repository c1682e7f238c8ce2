"""From the jig to the seat: how much higher or lower plates sound once they are built in.

Learned from plates that were heard in their seats before anything was filed at them, and whose
bin's offset is the mean of a sample measured on a jig.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import Final

from django.db.models import Min

from combwright.shop.arrivals.models import Draw
from combwright.shop.register.models import Condition, Heard
from combwright.shop.register.readings import counted

#: Fewer plates than this tell nothing that is worth adding.
ENOUGH: Final = 5
#: Only so many of the last plates: jigs and habits change.
_MOST: Final = 2000
#: A plate that sounds this much otherwise was filed, or is another one.
_FARTHEST_MC: Final = 30_000


@dataclass(frozen=True, slots=True)
class Shift:
    """What so many plates say: the mean difference in cents, their spread, the mean's error."""

    condition: str
    plates: int
    cents: float
    spread_cents: float

    @property
    def words(self) -> str:
        """How they were mounted."""
        return str(Condition(self.condition).label)

    @property
    def sd_cents(self) -> float:
        """The standard error of the mean."""
        return self.spread_cents / math.sqrt(self.plates)

    @property
    def wide(self) -> float:
        """Half of the width in which the mean lies with 95 % certainty."""
        return 1.96 * self.sd_cents

    @property
    def enough(self) -> bool:
        """Whether so many plates tell something."""
        return self.plates >= ENOUGH

    @property
    def millicents(self) -> int:
        """The mean in whole thousandths of a cent."""
        return round(1000 * self.cents)


def shifts() -> list[Shift]:
    """Return the shift of each way of mounting that two plates or more were heard in."""
    by_way: Mapping[str, list[float]] = defaultdict(list)
    for condition, off_mc in _differences():
        if abs(off_mc) <= _FARTHEST_MC:
            by_way[condition].append(off_mc / 1000)
    return [
        Shift(way, len(found), fmean(found), stdev(found))
        for way, found in sorted(by_way.items())
        if len(found) > 1
    ]


def _differences() -> Sequence[tuple[str, int]]:
    """Return how each plate was mounted, and how much higher it sounded there than on the jig."""
    ours = Heard.objects.filter(
        counted(), taken__way="none", taken__bin__draws__after__isnull=False
    ).exclude(condition=Condition.BARE)
    firsts = ours.order_by().values("taken", "condition").annotate(first=Min("pk"))
    keys = firsts.order_by("-first").values_list("first", flat=True)[:_MOST]
    rows = list(
        Heard.objects.filter(pk__in=list(keys)).values_list(
            "condition", "off_mc", "taken__retune_mc", "taken__bin"
        )
    )
    known = dict(
        Draw.objects.filter(bin__in={row[3] for row in rows}, after__isnull=False)
        .order_by("pk")
        .values_list("bin", "shift")
    )
    # wanted + off is what it is in the seat, wanted - retune what its bin says, shift in it.
    return [(way, off + retune + known[where]) for way, off, retune, where in rows]
