"""Which bins to count: the ones whose number is doubted most, or matters most."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from heapq import nsmallest
from typing import Final

from combwright.allocation.walking import natural_key
from combwright.shop.counting.models import Ask

NEVER_COUNTED: Final = 100
DIFFERED: Final = 60
DIFFERED_EACH: Final = 5
DIFFERED_MOST: Final = 100
NEEDED: Final = 80
TAKEN: Final = 30
LONG: Final = 50
LONG_DAYS: Final = 365
#: Whoever was counted within so many days and agreed is left in peace, unless it is needed.
REST_DAYS: Final = 7
_DAY: Final = 24 * 3600


@dataclass(frozen=True, slots=True)
class Candidate:
    """A bin that might be counted.

    Parameters
    ----------
    key : int
        The bin's key.
    code, walk : str
        Its name and its place on the walk.
    held : int
        What the ledger says it holds.
    counted_at : datetime or None
        When it was counted last.
    last_change : int
        What that count changed; 0 when it agreed.
    taken : int
        Plates that left it lately.
    """

    key: int
    code: str
    walk: str
    held: int
    counted_at: datetime | None = None
    last_change: int = 0
    taken: int = 0


@dataclass(frozen=True, slots=True)
class Proposed:
    """A bin to count, why, and how much that weighs."""

    bin: Candidate
    why: str
    weight: float


def propose(
    candidates: Iterable[Candidate],
    *,
    now: datetime,
    most: int,
    needed: Mapping[int, int] | None = None,
) -> list[Proposed]:
    """Return the bins to count, along the walk.

    Parameters
    ----------
    candidates : iterable of Candidate
        The bins to choose from.
    now : datetime
        The time of asking.
    most : int
        How many to propose at most.
    needed : mapping of int to int, optional
        From a bin's key to plates wanted from it soon.

    Notes
    -----
    Each reason gives points, and a bin's points add up; the reason with most points is named.

    - never counted: 100.
    - differed at the last count: 60, and 5 for each plate of the difference, 100 at most: a bin
      that was wrong once is wrong again, by a habit or a neighbour of the same note.
    - about to be needed: up to 80, in the proportion of what is wanted to what is held: only where
      nearly all is wanted does one plate more or less matter.
    - much was taken: up to 30, in the proportion of what left lately to that and what is held.
    - not counted for long: up to 50, reached after a year.

    A bin that agreed within the last week is proposed only when it is needed. Bins of equal points
    are taken in the order of their names, so the same rack gives the same proposal.
    """
    weighed = (_weighed(each, now, (needed or {}).get(each.key, 0)) for each in candidates)
    chosen = nsmallest(
        most,
        (each for each in weighed if each is not None),
        key=lambda each: (-each.weight, each.bin.code),
    )
    return sorted(
        chosen,
        key=lambda each: (
            not each.bin.walk, natural_key(each.bin.walk), natural_key(each.bin.code)
        ),
    )  # fmt: skip


def _weighed(bin_: Candidate, now: datetime, needed: int) -> Proposed | None:
    points: dict[str, float] = {}
    if needed:
        points[Ask.NEEDED] = NEEDED * min(1.0, needed / max(bin_.held, 1))
    if bin_.counted_at is None:
        points[Ask.NEVER] = NEVER_COUNTED
    else:
        days = max((now - bin_.counted_at).total_seconds() / _DAY, 0.0)
        if bin_.last_change:
            each = DIFFERED_EACH * abs(bin_.last_change)
            points[Ask.DIFFERED] = min(DIFFERED + each, DIFFERED_MOST)
        elif days < REST_DAYS:
            return _named(bin_, points) if needed else None
        points[Ask.LONG] = LONG * min(1.0, days / LONG_DAYS)
    if bin_.taken:
        points[Ask.TAKEN] = TAKEN * bin_.taken / (bin_.taken + bin_.held)
    return _named(bin_, points)


def _named(bin_: Candidate, points: Mapping[str, float]) -> Proposed:
    return Proposed(bin_, max(points, key=lambda why: points[why]), sum(points.values()))
