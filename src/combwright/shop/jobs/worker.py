"""A worker: takes up one job after another, and does regular work when it is due."""

import logging
import os
import socket
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from threading import Event
from time import monotonic
from typing import Any, Final, TypeVar

from django.conf import settings
from django.db import DatabaseError, Error, InterfaceError, OperationalError, connection
from django.utils.translation import gettext as _
from django.utils.translation import override

from combwright.errors import CombwrightError
from combwright.shop.jobs import actions
from combwright.shop.jobs.beat import Beat
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.queries import is_anything_due
from combwright.shop.jobs.registry import kinds
from combwright.shop.jobs.regular import do_what_is_due
from combwright.shop.jobs.run import Run, Stopped, Why

T = TypeVar("T")
#: What goes by: the database is away, or somebody holds a lock for long.
PASSING: Final = (OperationalError, InterfaceError)
_LEAST_PAUSE, _MOST_PAUSE, _SLOWER = 0.2, 2.0, 1.5
_LEAST_PATIENCE, _MOST_PATIENCE = 0.5, 10.0
_REGULAR_SECONDS: Final = 10.0
_AFTER_A_FAULT: Final = timedelta(seconds=10)
_LOG: Final = logging.getLogger("combwright.jobs")


def worker_name() -> str:
    """Return a name that tells people which machine and which process it is."""
    return f"{socket.gethostname()}, process {os.getpid()}"


def lease() -> timedelta:
    """Return how long a worker may be silent before its job is taken up by another one."""
    return timedelta(seconds=getattr(settings, "JOB_LEASE_SECONDS", 30))


def _tell_nobody(_job: Job) -> None:
    pass


@dataclass(eq=False)
class Worker:
    """Takes up jobs, one at a time, in the thread that runs it.

    Parameters
    ----------
    leaving : Event
        Once set, the worker ends as soon as its job is done, or has been put back.
    name : str
        Its name, for people.
    lease : timedelta
        How long it may be silent.
    told : callable
        Called with every job that it has worked on, as it stands then.
    """

    leaving: Event = field(default_factory=Event)
    name: str = field(default_factory=worker_name)
    lease: timedelta = field(default_factory=lease)
    told: Callable[[Job], None] = _tell_nobody
    _regular_at: float = field(default=float("-inf"), init=False)

    def work_until_told(self) -> None:
        """Work until `leaving` is set; the less there is to do, the more seldom it looks."""
        pause = _LEAST_PAUSE
        while not self.leaving.is_set():
            if self._patient_turn():
                pause = _LEAST_PAUSE
            else:
                self.leaving.wait(pause)
                pause = min(pause * _SLOWER, _MOST_PAUSE)

    def work_off(self) -> int:
        """Work until nothing is due, and return how many jobs were taken up."""
        taken = 0
        while not self.leaving.is_set() and self.turn():
            taken += 1
        return taken

    def _patient_turn(self) -> bool:
        try:
            return self.turn()
        except Error as error:
            # Any fault of the database: it may be away, or be brought up to date just now.
            self._log_and_close(error)
            self.leaving.wait(_MOST_PAUSE)
            return False

    def turn(self) -> bool:
        """Do what is due of regular work, then one job; say whether there was one."""
        if monotonic() - self._regular_at >= _REGULAR_SECONDS:
            self._regular_at = monotonic()
            do_what_is_due()
        if not is_anything_due(kinds()):
            return False
        job = actions.take_up(self.name, self.lease, kinds())
        if job is None:
            return False
        self._work_on(job)
        job.refresh_from_db()
        self.told(job)
        return True

    def _work_on(self, job: Job) -> None:
        run = Run(job, self.leaving)
        with Beat(run, self.lease), override(settings.LANGUAGE_CODE):
            try:
                result = kinds()[job.kind].done_for(run, job.arguments)
            except Stopped as stopped:
                self._left(run, stopped.why)
            except PASSING as error:
                self._log_and_close(error)
                self._try_later(job)
            except CombwrightError as error:
                self._fail(job, str(error))
            except Exception:
                self._fail_by_a_bug(job)
            else:
                if not run.closed:
                    self._finish(run, result)

    def _finish(self, run: Run, result: Any) -> None:
        try:
            self._patiently(lambda: actions.finish(run.job, result, run.said))
        except PASSING:
            raise
        except (TypeError, ValueError, DatabaseError):
            # No JSON, or none that this database takes.
            self._fail_by_a_bug(run.job)

    def _left(self, run: Run, why: Why) -> None:
        if run.closed:
            return
        if why is Why.ASKED:
            self._patiently(lambda: actions.stop(run.job))
        elif why is Why.LEAVING:
            self._patiently(lambda: actions.put_back(run.job, counted=False))

    def _try_later(self, job: Job) -> None:
        if job.tries < actions.MOST_TRIES:
            after = _AFTER_A_FAULT * job.tries
            self._patiently(lambda: actions.put_back(job, after=after, counted=True))
            return
        error = _(
            "Given up after %(tries)d tries: the database did not answer, or was busy for too long."
            " Start it again later."
        ) % {"tries": job.tries}
        self._fail(job, error)

    def _fail_by_a_bug(self, job: Job) -> None:
        _LOG.exception("Job %d (%s) failed by a fault of the program.", job.pk, job.kind)
        error = _(
            "The program made a mistake; the log of %(worker)s tells more under job %(number)d."
        ) % {"worker": self.name, "number": job.pk}
        self._fail(job, error)

    def _fail(self, job: Job, error: str) -> None:
        self._patiently(lambda: actions.fail(job, error))

    def _patiently(self, act: Callable[[], T]) -> T:
        """Try until the database takes it; when told to leave, once more and then no longer."""
        pause = _LEAST_PATIENCE
        while True:
            try:
                return act()
            except PASSING as error:
                self._log_and_close(error)
                if self.leaving.is_set():
                    raise
            self.leaving.wait(pause)
            pause = min(pause * 2, _MOST_PATIENCE)

    @staticmethod
    def _log_and_close(error: Exception) -> None:
        _LOG.warning("The database did not do its part: %s", error)
        connection.close()
