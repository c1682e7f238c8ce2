"""Everything that writes jobs: people who start and stop them, workers that take them up.

All times are the database's own, so that machines whose clocks differ agree on who holds a job.
What a worker writes about a job is kept only while it holds it; each function says whether it did.
"""

from collections.abc import Collection, Mapping
from datetime import timedelta
from typing import Any, Final
from uuid import uuid4

from django.db import IntegrityError, transaction
from django.db.models import F, Q, QuerySet
from django.db.models.functions import Now
from django.utils.translation import gettext as _

from combwright.shop.jobs.models import Job
from combwright.shop.jobs.progress import Progress
from combwright.shop.jobs.wording import one_line
from combwright.shop.people import journal
from combwright.shop.people.models import Person

#: So often a job is begun before it is given up.
MOST_TRIES: Final = 3
#: Finished jobs are kept so long, with their results.
KEPT: Final = timedelta(days=90)
_THROWN_AWAY_AT_ONCE: Final = 1000
_MOST_LETTERS: Final = 500
_NO_TIME: Final = timedelta(0)
_NOBODYS: Final[Mapping[str, Any]] = {"token": None, "lease_until": None}
_NO_PROGRESS: Final[Mapping[str, Any]] = {"done": 0, "total": 0, "words": ""}

WAITS: Final = Q(state=Job.WAITING, not_before__lte=Now())
#: Its worker was not heard of for as long as it may be silent.
LEFT: Final = Q(state=Job.RUNNING, lease_until__lt=Now())


def start(
    kind: str,
    arguments: Mapping[str, Any],
    person: Person | None,
    *,
    after: timedelta = _NO_TIME,
    single: str = "",
) -> Job:
    """Have work done by the next worker that is free; return its job at once.

    Parameters
    ----------
    kind : str
        What it was registered as.
    arguments : mapping
        What its function is given by name; JSON must be able to hold it.
    person : Person or None
        Who wants it; None for what the shop does by itself.
    after : timedelta
        How long to wait at least.
    single : str
        If not empty: while a job of this name is open, that one is returned and none is made.
    """
    while True:
        known = Job.objects.filter(single=single, state__in=Job.OPEN).first() if single else None
        if known is not None:
            return known
        job = Job(kind=kind, arguments=dict(arguments), made_by=person, single=single)
        job.made_at, job.not_before = Now(), Now() + after
        try:
            with transaction.atomic():
                job.save()
        except IntegrityError:
            if not single:
                raise
            continue  # somebody was quicker
        job.refresh_from_db()
        _tell("job_started", job, by=person.name if person else "")
        return job


@transaction.atomic
def ask_to_stop(job: Job, person: Person | None) -> Job:
    """Have a job stopped: at once if nobody works on it, at its next step if somebody does.

    Returns the job as it is then; one that is over stays as it is.
    """
    there = Job.objects.select_for_update().get(pk=job.pk)
    if not there.is_open:
        return there
    if there.stop_asked_at is None:
        Job.objects.filter(pk=there.pk).update(stop_asked_at=Now(), stop_asked_by=person)
        _tell("job_stop_asked", there, by=person.name if person else "")
    if there.state == Job.WAITING or Job.objects.filter(LEFT, pk=there.pk).exists():
        _end(there, Job.STOPPED)
    there.refresh_from_db()
    return there


def take_up(worker: str, lease: timedelta, kinds: Collection[str]) -> Job | None:
    """Give a worker the next job that is due, for its own until the lease runs out.

    Those whose worker fell silent come first; one that was begun too often is given up, and one
    that somebody asked to stop is stopped.

    Parameters
    ----------
    worker : str
        The worker's name, for people.
    lease : timedelta
        How long the worker may be silent.
    kinds : collection of str
        The kinds of work that it knows; a worker of an older version leaves the others.
    """
    while True:
        with transaction.atomic():
            job = _next_due(kinds)
            if job is None:
                return None
            if job.stop_asked_at is not None:
                _end(job, Job.STOPPED)
            elif job.tries >= MOST_TRIES:
                _end(job, Job.FAILED, error=_begun_too_often(job))
            else:
                return _hand_to(worker, job, lease)


def _next_due(kinds: Collection[str]) -> Job | None:
    for due in (LEFT, WAITS):
        found = Job.objects.select_for_update(skip_locked=True).filter(due, kind__in=kinds)
        job = found.order_by("not_before", "id").first()
        if job is not None:
            return job
    return None


def _begun_too_often(job: Job) -> str:
    return _(
        "Given up after %(tries)d tries: each time its worker ended or fell silent before the work "
        "was done (the last was %(worker)s). Start it again, or ask who runs the workers."
    ) % {"tries": job.tries, "worker": job.worker}


def _hand_to(worker: str, job: Job, lease: timedelta) -> Job:
    Job.objects.filter(pk=job.pk).update(
        state=Job.RUNNING,
        worker=worker[:100],
        token=uuid4(),
        lease_until=Now() + lease,
        beat_at=Now(),
        started_at=Now(),
        tries=F("tries") + 1,
        **_NO_PROGRESS,
    )
    job.refresh_from_db()
    _tell("job_taken_up", job, worker=worker, tries=job.tries)
    return job


def _held(job: Job) -> "QuerySet[Job]":
    """Find the job if it is still held by whom it was handed to."""
    return Job.objects.filter(pk=job.pk, state=Job.RUNNING, token=job.token)


def beat(job: Job, lease: timedelta, progress: Progress) -> bool:
    """Say that its worker is well and how far it is: the lease begins anew."""
    return bool(
        _held(job).update(
            lease_until=Now() + lease,
            beat_at=Now(),
            done=progress.done,
            total=progress.total,
            words=progress.words,
        )
    )


def finish(job: Job, result: Any, progress: Progress) -> bool:
    """End a job as done."""
    return _ended(
        job,
        Job.DONE,
        result=result,
        done=progress.done,
        total=progress.total,
        words=progress.words,
    )


def fail(job: Job, error: str) -> bool:
    """End a job as failed, with one line for people."""
    return _ended(job, Job.FAILED, error=one_line(error, _MOST_LETTERS))


def stop(job: Job) -> bool:
    """End a job as stopped: its work heard that somebody asked for it."""
    return _ended(job, Job.STOPPED)


@transaction.atomic
def put_back(job: Job, *, after: timedelta = _NO_TIME, counted: bool) -> bool:
    """Let a job wait again, for any worker.

    Parameters
    ----------
    job : Job
        As it was taken up.
    after : timedelta
        How long it waits at least.
    counted : bool
        Whether this try counts: it does if the work is to blame, not if the worker must end.
    """
    there = _held(job).select_for_update().first()
    if there is None:
        return False
    if there.stop_asked_at is not None:
        return stop(job)
    back = 0 if counted else 1
    _held(job).update(
        state=Job.WAITING,
        not_before=Now() + after,
        tries=F("tries") - back,
        **_NOBODYS,
        **_NO_PROGRESS,
    )
    _tell("job_put_back", job, worker=job.worker)
    return True


def _ended(job: Job, state: str, **more: Any) -> bool:
    ended = _held(job).update(state=state, finished_at=Now(), **_NOBODYS, **more)
    _tell(f"job_{state}" if ended else "job_lost", job, worker=job.worker)
    return bool(ended)


def _end(job: Job, state: str, **more: Any) -> None:
    """End a job that is locked here and that nobody holds any more."""
    Job.objects.filter(pk=job.pk).update(state=state, finished_at=Now(), **_NOBODYS, **more)
    _tell(f"job_{state}", job)


def throw_away_old() -> int:
    """Throw away what finished long ago, some at a time; return how many jobs that were."""
    old = Job.objects.filter(finished_at__lt=Now() - KEPT).order_by("finished_at")
    some = list(old.values_list("pk", flat=True)[:_THROWN_AWAY_AT_ONCE])
    Job.objects.filter(pk__in=some).delete()
    return len(some)


def _tell(event: str, job: Job, **facts: str | int) -> None:
    journal.write(event, {"job": job.pk, "kind": job.kind, **facts}, room="jobs")
