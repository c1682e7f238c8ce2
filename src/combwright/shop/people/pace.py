"""How many requests one person, or one address where nobody has logged in, may send a second.

Each has a bucket that fills at a steady pace and holds ten seconds' worth: a page with all its
clicks never notices, a script that runs wild does. The buckets are this process's own.
"""

import logging
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from math import ceil
from threading import Lock
from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.shop.look.guard import Answer
from combwright.shop.look.turning_away import turn_away
from combwright.shop.people import journal
from combwright.shop.people.door import address_of

BURST_SECONDS: Final = 10
#: More buckets than this are not kept; the one that was used longest ago is as good as full.
_MOST_KEPT: Final = 10_000
#: What watches over the shop asks here, as often as it likes.
_HEALTH: Final = "/health/"


@dataclass(slots=True)
class Bucket:
    """What was left when it was last asked, when that was, and whether it was empty."""

    left: float
    at: float
    empty: bool = False


@dataclass(frozen=True, slots=True)
class Wait:
    """Whole seconds to wait, 0 for none; and whether this is the first time in a row."""

    seconds: int
    first: bool


class Buckets:
    """A bucket for everybody who asks.

    Parameters
    ----------
    pace : float
        Requests a second that a bucket fills by; it holds `BURST_SECONDS` of them.
    clock : callable
        Gives seconds that only go forward.
    """

    def __init__(self, pace: float, clock: Callable[[], float] = time.monotonic) -> None:
        self._pace, self._clock = pace, clock
        self._most = max(1.0, BURST_SECONDS * pace)
        self._buckets: OrderedDict[str, Bucket] = OrderedDict()
        self._lock = Lock()

    def take(self, whose: str) -> Wait:
        """Take one out of somebody's bucket, or say how long until there is one."""
        with self._lock:
            now = self._clock()
            bucket = self._buckets.setdefault(whose, Bucket(self._most, now))
            self._buckets.move_to_end(whose)
            if len(self._buckets) > _MOST_KEPT:
                self._buckets.popitem(last=False)
            bucket.left = min(self._most, bucket.left + (now - bucket.at) * self._pace)
            bucket.at, was_empty, bucket.empty = now, bucket.empty, bucket.left < 1
            if bucket.empty:
                return Wait(ceil((1 - bucket.left) / self._pace), first=not was_empty)
            bucket.left -= 1
            return Wait(0, first=False)


def not_too_many(get_response: Answer) -> Answer:
    """Turn away whoever asks faster than the shop's pace, and say when to come again."""
    buckets = Buckets(settings.MOST_A_SECOND) if settings.MOST_A_SECOND else None

    def answer(request: HttpRequest) -> HttpResponse:
        if buckets is None or request.path.startswith((settings.STATIC_URL, _HEALTH)):
            return get_response(request)
        person = request.user.name if request.user.is_authenticated else ""
        wait = buckets.take(f"person {person}" if person else f"address {address_of(request)}")
        if wait.first:  # a line for each would let whoever runs wild fill the log too
            who = {"person": person} if person else {"address": address_of(request)}
            journal.write("slowed", who, level=logging.WARNING)
        return _turned_away(request, wait.seconds) if wait.seconds else get_response(request)

    return answer


def _turned_away(request: HttpRequest, seconds: int) -> HttpResponse:
    why = ngettext(
        "The shop was asked too often in a short time: wait %(n)d second, then try again.",
        "The shop was asked too often in a short time: wait %(n)d seconds, then try again.",
        seconds,
    ) % {"n": seconds}
    page = turn_away(request, 429, _("Too many at once"), why)
    page.headers["Retry-After"] = str(seconds)
    return page
