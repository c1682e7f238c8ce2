"""What a job's work is handed: a way to say how far it is, and to hear that it must stop.

The work itself writes nothing about the job. What it says is kept here, and the beat (`beat.py`)
writes it over a connection of its own, so that it is seen while the work is in a transaction.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import Enum
from threading import Event, Lock
from typing import Any

from django.db import transaction

from combwright.shop.jobs import actions
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.progress import Progress


class Why(Enum):
    """Why work must stop."""

    ASKED = "somebody asked for it"
    LOST = "another worker holds the job now"
    LEAVING = "the worker was told to end"


class Stopped(BaseException):
    """Work must stop here. No Exception, so that work that catches all of them still stops."""

    def __init__(self, why: Why) -> None:
        self.why = why
        super().__init__(why.value)


@dataclass(eq=False)
class Run:
    """One try at a job.

    Parameters
    ----------
    job : Job
        As it was taken up; `job.pk` and `job.made_by` are of use to the work.
    leaving : Event
        Set when the worker was told to end.
    """

    job: Job
    leaving: Event = field(default_factory=Event)
    closed: bool = field(default=False, init=False)
    _progress: Progress = field(default_factory=Progress, init=False)
    _why: Why | None = field(default=None, init=False)
    _lock: Lock = field(default_factory=Lock, init=False)

    def progress(self, done: int, total: int, words: str = "") -> None:
        """Say how far the work is, and stop here if it must; to be called as often as one likes.

        Parameters
        ----------
        done, total : int
            Steps. A bar never goes back: of two shares the larger one stays.
        words : str
            What is being done now, for people.
        """
        with self._lock:
            self._progress = self._progress.after(done, total, words)
        self.check()

    def check(self) -> None:
        """Stop here if the work must.

        Raises
        ------
        Stopped
            If somebody asked for it, or the job was lost, or the worker was told to end.
        """
        why = self._why or (Why.LEAVING if self.leaving.is_set() else None)
        if why is not None:
            raise Stopped(why)

    @contextmanager
    def closing(self) -> Iterator[dict[str, Any]]:
        """Begin a transaction in which the job ends as done; yield the result to be filled.

        What is written inside is kept together with the job's end or not at all, so it happens
        once however often the job is taken up.

        Raises
        ------
        Stopped
            If the job was lost in the meantime; nothing that was written inside is kept.
        """
        self.check()
        result: dict[str, Any] = {}
        with transaction.atomic():
            yield result
            if not actions.finish(self.job, result, self.said):
                raise Stopped(Why.LOST)
        self.closed = True

    @property
    def said(self) -> Progress:
        """What was last said about how far it is."""
        with self._lock:
            return self._progress

    def must_stop(self, why: Why) -> None:
        """Have the work stop at its next step; that the job is lost outweighs all else."""
        if self._why is not Why.LOST:
            self._why = why
