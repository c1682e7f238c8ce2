"""Regular work: done by whichever worker notices first that it is due, and by no other.

Rooms register it with `regular`, in the modules that JOB_MODULES names. It runs in a transaction
together with the note that it was done, so it should be short: it usually starts a job.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from django.db import InterfaceError, OperationalError, connection, transaction
from django.db.models import Q
from django.db.models.functions import Now

from combwright.shop.jobs.models import Regular
from combwright.shop.jobs.registry import kinds

Act = Callable[[], object]
#: Work that failed is tried again after so long, unless it is due sooner.
_AFTER_A_FAULT: Final = timedelta(minutes=5)
_LOG: Final = logging.getLogger("combwright.jobs")


@dataclass(frozen=True, slots=True)
class Task:
    """Something to be done every so often."""

    name: str
    every: timedelta
    act: Act

    @property
    def is_due(self) -> Q:
        """What finds its row when it is due."""
        return Q(name=self.name) & (Q(last_at=None) | Q(last_at__lte=Now() - self.every))


_TASKS: Final[dict[str, Task]] = {}


def regular(*, every: timedelta) -> Callable[[Act], Act]:
    """Register the function below as regular work; its module and name are what it is known by."""
    if every <= timedelta(0):
        raise ValueError(f"Regular work needs a time above zero between its turns, not {every}.")

    def registered(act: Act) -> Act:
        name = f"{act.__module__}.{act.__qualname__}"
        _TASKS[name] = Task(name, every, act)
        return act

    return registered


def do_what_is_due() -> int:
    """Do all regular work that is due and that nobody else is at; return how much that was."""
    kinds()  # loads the rooms' modules
    known = set(Regular.objects.filter(name__in=_TASKS).values_list("name", flat=True))
    Regular.objects.bulk_create(
        [Regular(name=name) for name in _TASKS if name not in known], ignore_conflicts=True
    )
    return sum(_done_if_due(task) for task in list(_TASKS.values()))


def _done_if_due(task: Task) -> bool:
    # Looked at without a lock first: nearly always there is nothing to do.
    if not Regular.objects.filter(task.is_due).exists():
        return False
    try:
        with transaction.atomic():
            row = Regular.objects.select_for_update(skip_locked=True).filter(task.is_due).first()
            if row is None:
                return False
            task.act()
            Regular.objects.filter(pk=row.pk).update(last_at=Now())
    except (OperationalError, InterfaceError) as error:
        # The database's fault, which passes: it is tried again when a worker looks next.
        _LOG.warning("Regular work %s was not done: %s", task.name, error)
        connection.close()
        return False
    except Exception:
        _LOG.exception("Regular work %s failed.", task.name)
        _let_rest(task)
        return False
    return True


def _let_rest(task: Task) -> None:
    late = max(task.every - _AFTER_A_FAULT, timedelta(0))
    Regular.objects.filter(task.is_due).update(last_at=Now() - late)
