"""The worker inside a shop that is served on SQLite: a process beside the one that answers.

A process, not a thread: work that computes slows no page down, and work that brings its process
down brings no page down with it. It hears of the shop's end by its standard input, which closes
even when the shop is killed; and if it ends by itself, it is started again.
"""

import logging
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Lock, Thread
from time import monotonic
from typing import Final

from django.db import connection

from combwright.shop.jobs.leaving import GRACE_SECONDS, told_by_parent, told_by_signals

_LEAST_PAUSE, _MOST_PAUSE = 1.0, 60.0
_WELL_SECONDS: Final = 60.0
_LOG: Final = logging.getLogger("combwright.jobs")


@contextmanager
def working_inside() -> Iterator[None]:
    """Keep a worker while the shop is served, where the shop's database is SQLite.

    On PostgreSQL there is none: there workers are started by `combwright run-jobs`.
    """
    if connection.vendor != "sqlite":
        yield
        return
    keeper = Keeper()
    try:
        yield
    finally:
        keeper.leave()


class Keeper:
    """Keeps one worker's process running."""

    def __init__(self) -> None:
        self._leaving = Event()
        self._lock = Lock()
        self._child: subprocess.Popen[bytes] | None = None
        self._thread = Thread(target=self._keep, name="worker-keeper", daemon=True)
        self._thread.start()

    @property
    def number(self) -> int | None:
        """The number of the worker's process, while there is one."""
        child = self._child
        return None if child is None else child.pid

    def leave(self) -> None:
        """Have the worker put its job back and end; if it does not, end it."""
        self._leaving.set()
        with self._lock:
            child = self._child
        if child is not None:
            if child.stdin is not None:
                child.stdin.close()
            try:
                child.wait(GRACE_SECONDS + 2)
            except subprocess.TimeoutExpired:
                child.kill()
        self._thread.join()

    def _keep(self) -> None:
        pause = _LEAST_PAUSE
        while (child := self._started()) is not None:
            began = monotonic()
            code = child.wait()
            if self._leaving.is_set():
                return
            _LOG.warning("The shop's own worker ended with %d; it is started again.", code)
            if child.stdin is not None:
                child.stdin.close()
            pause = _LEAST_PAUSE if monotonic() - began > _WELL_SECONDS else pause * 2
            self._leaving.wait(min(pause, _MOST_PAUSE))

    def _started(self) -> "subprocess.Popen[bytes] | None":
        with self._lock:
            if self._leaving.is_set():
                return None
            command = [sys.executable, "-m", "combwright.shop.jobs.embedded"]
            self._child = subprocess.Popen(command, stdin=subprocess.PIPE)
            return self._child


def main() -> None:
    """Work until the shop that started this process is gone."""
    with told_by_signals(interrupts=False) as leaving:
        told_by_parent(leaving)
        import django

        django.setup()
        from combwright.shop.jobs.worker import Worker

        Worker(leaving=leaving.event).work_until_told()


if __name__ == "__main__":
    main()
