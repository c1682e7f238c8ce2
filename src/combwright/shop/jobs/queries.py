"""Reading jobs: whether anything is due, lists, and one job for who may see it."""

from collections.abc import Collection
from datetime import timedelta
from typing import Final

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.db.models.functions import Now
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from combwright.shop.jobs.actions import LEFT, WAITS
from combwright.shop.jobs.models import Job
from combwright.shop.people.models import Person
from combwright.shop.people.roles import May, allowed

#: A worker that is free looks every two seconds; who waits longer, waits for something else.
_SOON: Final = timedelta(seconds=15)


def is_anything_due(kinds: Collection[str]) -> bool:
    """Say whether a worker that knows these kinds has something to take up; locks nothing."""
    return Job.objects.filter(WAITS | LEFT, kind__in=kinds).exists()


def may_watch(person: Person) -> bool:
    """Say whether somebody sees everybody's jobs, and those of the shop itself."""
    return allowed(person.role, May.WATCH)


def jobs_seen_by(person: Person, *, mine: bool = False, state: str = "") -> "QuerySet[Job]":
    """Return the jobs that somebody sees, the newest first."""
    seen = Job.objects.select_related("made_by").defer("arguments", "result")
    if mine or not may_watch(person):
        seen = seen.filter(made_by=person)
    return seen.filter(state=state) if state else seen


def job_seen_by(person: Person, number: int) -> Job:
    """Return a job for somebody to see, or to stop.

    Raises
    ------
    Http404
        If there is none.
    PermissionDenied
        If it is somebody else's, and the person may not watch everybody's.
    """
    job = get_object_or_404(Job.objects.select_related("made_by", "stop_asked_by"), pk=number)
    if job.made_by_id != person.pk and not may_watch(person):
        raise PermissionDenied(
            _("Your role, %(role)s, may not %(what)s; ask the owner.")
            % {"role": person.get_role_display(), "what": May.WATCH.words}
        )
    return job


def is_left(job: Job) -> bool:
    """Say whether the worker of a running job has fallen silent."""
    return job.state == Job.RUNNING and Job.objects.filter(LEFT, pk=job.pk).exists()


def nobody_comes(job: Job) -> bool:
    """Say whether a waiting job has waited for long although no worker is busy."""
    if job.state != Job.WAITING:
        return False
    overdue = Job.objects.filter(pk=job.pk, not_before__lt=Now() - _SOON)
    busy = Job.objects.filter(state=Job.RUNNING, lease_until__gte=Now())
    return overdue.exists() and not busy.exists()
