"""A worker as a command runs it: everything is looked at before it takes up its first job."""

from collections.abc import Callable
from threading import Event
from typing import TYPE_CHECKING

import django
from django.db import Error, connection

from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from combwright.shop.jobs.models import Job
    from combwright.shop.jobs.worker import Worker


class CannotWork(CombwrightError):
    """A database that no worker can work on yet."""


def ready_worker(leaving: Event, told: "Callable[[Job], None]") -> "tuple[Worker, str]":
    """Return a worker for this process, and a remark for who starts it, or an empty one.

    Raises
    ------
    CannotWork
        If the database cannot be reached, or is not set up for this version.
    """
    django.setup()
    from combwright.shop.jobs.worker import Worker

    try:
        missing = _missing_migrations()
    except Error as error:
        said = " ".join(str(error).split())
        raise CannotWork(
            f"The shop's database cannot be reached ({said}); see that it runs, and that "
            "COMBWRIGHT_DATABASE or --data names the right one."
        ) from error
    if missing:
        raise CannotWork(
            f"The shop's database lacks {missing} changes that this version needs; "
            "start `combwright serve` of this version once, then the workers."
        )
    remark = ""
    if connection.vendor == "sqlite":
        remark = (
            "With SQLite, `combwright serve` works on jobs by itself; this worker shares them "
            "with it, on this machine only."
        )
    return Worker(leaving=leaving, told=told), remark


def _missing_migrations() -> int:
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    return len(executor.migration_plan(executor.loader.graph.leaf_nodes()))
