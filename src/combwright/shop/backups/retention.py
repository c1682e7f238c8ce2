"""Which backups of a schedule are kept: a rule that looks at nothing but their moments."""

from collections.abc import Callable, Collection
from datetime import datetime
from typing import Any


def kept(
    moments: Collection[datetime], daily: int, weekly: int, monthly: int
) -> frozenset[datetime]:
    """Return the moments whose backups are kept.

    Of each of the last days, weeks and months that have backups at all the newest one is kept, so
    that a shop that was closed for a month loses nothing by it. The newest of all is always kept.

    Parameters
    ----------
    moments : collection of datetime
        When backups were made, in the shop's own time zone: days begin at its midnight.
    daily, weekly, monthly : int
        How many days, weeks (they begin on Monday) and months are remembered.
    """
    if not moments:
        return frozenset()
    spans: list[tuple[int, Callable[[datetime], Any]]] = [
        (daily, lambda moment: moment.date()),
        (weekly, lambda moment: moment.isocalendar()[:2]),
        (monthly, lambda moment: (moment.year, moment.month)),
    ]
    chosen = {max(moments)}
    for many, span_of in spans:
        newest = {span_of(moment): moment for moment in sorted(moments)}
        chosen.update(newest[span] for span in sorted(newest, reverse=True)[:many])
    return frozenset(chosen)
