"""Telling programs what waits to be told, as a job: no lock is held while a stranger is waited for.

A call is tried again ever more seldom, for about a day. It is counted as tried before it is made,
so a worker that dies in the middle leaves one that is made again: receivers know calls by name.
"""

from datetime import timedelta
from time import monotonic
from typing import TYPE_CHECKING, Any, Final

from django.conf import settings
from django.db.models import F, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from combwright.shop.api import calling
from combwright.shop.api.guarding import BadAddress
from combwright.shop.api.hook_models import TEST, Call
from combwright.shop.jobs import actions as jobs
from combwright.shop.jobs.registry import job
from combwright.shop.jobs.regular import regular
from combwright.shop.people import journal

if TYPE_CHECKING:
    from combwright.shop.jobs.run import Run

KIND: Final = "calls"
FIRST_WAIT: Final = timedelta(seconds=30)
LONGEST_WAIT: Final = timedelta(hours=6)
#: With these waits the last try is some twenty hours after the first.
MOST_TRIES: Final = 13
KEPT: Final = timedelta(days=30)
#: Others wait for the worker too; what is left is told by the next job.
_MOST_SECONDS: Final = 60.0
_MOST_CALLS: Final = 100
_AT_ONCE: Final = 200
#: So long a program is left alone at most because one call of several failed.
_REST: Final = timedelta(minutes=5)
_ITS_FAULT: Final = 500


def wait_after(tries: int) -> timedelta:
    """Return how long to wait after so many tries that failed."""
    return min(FIRST_WAIT * (1 << (tries - 1)), LONGEST_WAIT)


def _due() -> QuerySet[Call]:
    return Call.objects.filter(
        state=Call.WAITING, not_before__lte=timezone.now(), hook__off_at=None
    )  # fmt: skip


@regular(every=timedelta(seconds=10))
def tell_programs() -> None:
    """Have a job tell what is due; a practice shop tells nobody anything."""
    if not settings.PRACTICE and _due().exists():
        jobs.start(KIND, {}, None, single=KIND)


@regular(every=timedelta(hours=1))
def throw_old_calls_away() -> None:
    """Make room, some calls at a time."""
    old = Call.objects.filter(ended_at__lt=timezone.now() - KEPT).order_by("ended_at")
    Call.objects.filter(pk__in=list(old.values_list("pk", flat=True)[:_AT_ONCE])).delete()


@job(KIND, title=gettext_lazy("Telling other programs"))
def deliver(run: "Run") -> dict[str, Any]:
    """Make the calls that are due; a program that does not answer is left alone for the rest."""
    until, silent, told, failed = monotonic() + _MOST_SECONDS, set[int](), 0, 0
    while told + failed < _MOST_CALLS and monotonic() < until:
        run.check()
        found = _due().exclude(hook__in=silent).select_related("hook").order_by("pk").first()
        if found is None:
            break
        if make_call(found):
            told += 1
        else:
            failed += 1
            silent.add(found.hook_id)
    words = ngettext("%d call was made", "%d calls were made", told) % told
    return {
        "words": words + (_(", %d failed and are tried again later.") % failed if failed else ".")
    }


def make_call(found: Call) -> bool:
    """Try a call once, and say whether it arrived; the practice shop calls nobody.

    One that somebody else tries at this moment is left to them, and counts as not arrived.
    """
    if settings.PRACTICE or not _claimed(found):
        return False
    try:
        status = calling.call(found, int(timezone.now().timestamp()))
    except BadAddress as error:
        _failed(found, str(error), getattr(error, "status", None))
        return False
    Call.objects.filter(pk=found.pk).update(
        state=Call.DONE, answered=status, error="", ended_at=timezone.now()
    )
    _tell("call_made", found, answered=status)
    return True


def _claimed(found: Call) -> bool:
    """Count a try, unless somebody else did since it was looked at."""
    now, tries = timezone.now(), found.tries + 1
    mine = Call.objects.filter(pk=found.pk, state=Call.WAITING, tries=found.tries)
    if not mine.update(tries=F("tries") + 1, not_before=now + wait_after(tries)):
        return False
    found.tries = tries
    return True


def _failed(found: Call, error: str, status: int | None) -> None:
    now, over = timezone.now(), found.tries >= MOST_TRIES or found.event == TEST
    ended = {"state": Call.GIVEN_UP, "ended_at": now} if over else {}
    Call.objects.filter(pk=found.pk).update(answered=status, error=error[:300], **ended)
    if status is None or status >= _ITS_FAULT:
        # Nobody is there: its other calls need not find that out one by one.
        later = now + min(wait_after(found.tries), _REST)
        others = Call.objects.filter(hook=found.hook_id, state=Call.WAITING, not_before__lt=later)
        others.update(not_before=later)
    _tell("call_given_up" if over else "call_failed", found, answered=status or 0)


def _tell(event: str, found: Call, *, answered: int) -> None:
    # The host, not the whole address: the rest of it may hold a secret.
    facts: dict[str, str | int] = {
        "hook": found.hook_id, "host": found.hook.host, "call": str(found.name),
        "about": found.event, "try": found.tries, "answered": answered,
    }  # fmt: skip
    journal.write(event, facts, room="api")
