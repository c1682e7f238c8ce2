"""Reading about backups: the plan, what lies in its folder, when the next one is due."""

import datetime as dt
from dataclasses import dataclass

from django.utils import timezone

from combwright.shop.backups.folder import Lying, lying_in
from combwright.shop.backups.models import BackupPlan, Check


@dataclass(frozen=True, slots=True)
class Shown:
    """A backup that lies in the folder, and the last look at it; None if nobody looked."""

    lying: Lying
    check: Check | None


def plan() -> BackupPlan:
    """Return the plan; one that says nothing yet where none was made."""
    return BackupPlan.objects.first() or BackupPlan()


def backups() -> list[Shown]:
    """List the backups in the plan's folder, newest first."""
    checks = {each.name: each for each in Check.objects.all()}
    return [Shown(each, _of(each, checks.get(each.name))) for each in lying_in(plan().place)]


def _of(lying: Lying, check: Check | None) -> Check | None:
    return check if check is not None and check.size == lying.size else None


def named(name: str) -> Lying | None:
    """Find a backup in the plan's folder by the name of its file."""
    return next((each for each in lying_in(plan().place) if each.name == name), None)


def last_due(at: dt.time, now: dt.datetime) -> dt.datetime:
    """Return the last moment, up to now, at which a backup of every day was to be made.

    Parameters
    ----------
    at : time
        The time of day, on the shop's clock.
    now : datetime
        Now.
    """
    here = timezone.localtime(now)
    today = dt.datetime.combine(here.date(), at, here.tzinfo)
    if today <= here:
        return today
    return dt.datetime.combine(here.date() - dt.timedelta(days=1), at, here.tzinfo)
