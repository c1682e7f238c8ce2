"""Which kinds of work there are, and the function that does each.

A room that has long work registers it with `job`. The rooms that do are named in the setting
JOB_MODULES, so that this room, which lies below them, need not import them.
"""

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

from django.conf import settings
from django.utils.functional import Promise

if TYPE_CHECKING:
    from combwright.shop.jobs.run import Run

Work = Callable[..., Any]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of work.

    Parameters
    ----------
    name : str
        What it is stored under.
    title : str or lazy translation
        What people call it.
    work : callable
        Does it: takes a `Run` and the job's arguments by name, and returns a result that JSON can
        hold. Of a mapping the page shows `words`, and links to `address`.
    """

    name: str
    title: str | Promise
    work: Work

    def done_for(self, run: "Run", arguments: dict[str, Any]) -> Any:
        """Do the work, and return its result."""
        return self.work(run, **arguments)


_KINDS: Final[dict[str, Kind]] = {}


def job(name: str, *, title: str | Promise) -> Callable[[Work], Work]:
    """Register the function below as the work of a kind of job.

    The work may be done a second time when a machine dies in the middle of it. What must happen
    once belongs into `run.closing()`.
    """

    def registered(work: Work) -> Work:
        known = _KINDS.get(name)
        if known is not None and known.work.__qualname__ != work.__qualname__:
            raise ValueError(f"Two kinds of job are named {name!r}.")
        _KINDS[name] = Kind(name, title, work)
        return work

    return registered


def kinds() -> dict[str, Kind]:
    """Return all kinds by name, the rooms' modules loaded first."""
    for module in getattr(settings, "JOB_MODULES", ()):
        import_module(module)
    return _KINDS


def title_of(name: str) -> str:
    """Return what people call a kind; its bare name where nothing here knows it."""
    kind = kinds().get(name)
    return name if kind is None else str(kind.title)
