"""The beat of a worker at work: it keeps the job's lease, writes how far the work is, and listens.

It is a thread with a database connection of its own, since the work may compute for minutes, or be
in a transaction that nobody else sees into yet.
"""

import logging
from datetime import timedelta
from threading import Event, Thread
from time import monotonic
from types import TracebackType
from typing import Final, Self

from django.db import DatabaseError, InterfaceError, connection

from combwright.shop.jobs import actions
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.run import Run, Why

_MOST_PAUSE: Final = 1.0
_LOOKS_A_LEASE: Final = 6
_BEATS_A_LEASE: Final = 3
_LOG: Final = logging.getLogger("combwright.jobs")


class Beat:
    """Beats while it is entered, from a thread of its own.

    Parameters
    ----------
    run : Run
        The try at a job; it is told when it must stop.
    lease : timedelta
        How long the worker may be silent before another one takes the job up.
    """

    def __init__(self, run: Run, lease: timedelta) -> None:
        self._run, self._lease = run, lease
        self._pause = min(_MOST_PAUSE, lease.total_seconds() / _LOOKS_A_LEASE)
        self._end = Event()
        self._thread = Thread(target=self._go, name="job-beat", daemon=True)
        self._heard_at = monotonic()
        self._told = run.said

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._end.set()
        self._thread.join()

    def _go(self) -> None:
        try:
            while not self._end.wait(self._pause):
                try:
                    self._turn()
                except (DatabaseError, InterfaceError) as error:
                    _LOG.warning("The beat of job %d failed: %s", self._run.job.pk, error)
                    connection.close()
                    self._doubt()
        finally:
            connection.close()

    def _turn(self) -> None:
        """Listen first: a write may have to wait for the work's own transaction."""
        held = Job.objects.filter(pk=self._run.job.pk, token=self._run.job.token)
        asked = held.values_list("stop_asked_at", flat=True).first()
        if asked is not None:
            self._run.must_stop(Why.ASKED)
        began, said = monotonic(), self._run.said
        silent = began - self._heard_at
        if said == self._told and silent < self._lease.total_seconds() / _BEATS_A_LEASE:
            return
        if actions.beat(self._run.job, self._lease, said):
            self._heard_at, self._told = began, said
        elif not self._run.closed:
            self._run.must_stop(Why.LOST)

    def _doubt(self) -> None:
        """Count the job as lost when nothing was heard for a whole lease.

        Not on SQLite: there nobody can have taken it up while somebody, perhaps the work itself,
        keeps the database locked.
        """
        silent = monotonic() - self._heard_at
        if connection.vendor != "sqlite" and silent > self._lease.total_seconds():
            self._run.must_stop(Why.LOST)
