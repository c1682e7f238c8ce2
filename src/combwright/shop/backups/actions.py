"""Everything that writes about backups: making one, looking at one again, the plan, throwing away.

Whether the one who acts may do so is the views' to ask (`door.needs`).
"""

import contextlib
from pathlib import Path
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.errors import CombwrightError
from combwright.shop.backups import folder as folders
from combwright.shop.backups.folder import Lying, lying_in
from combwright.shop.backups.making import make
from combwright.shop.backups.manifest import BadBackup
from combwright.shop.backups.models import BackupPlan, Check
from combwright.shop.backups.proof import prove
from combwright.shop.backups.queries import last_due, plan
from combwright.shop.backups.reading import glance, opened
from combwright.shop.backups.retention import kept
from combwright.shop.backups.writing import Told, quiet
from combwright.shop.jobs import actions as jobs
from combwright.shop.jobs.models import Job
from combwright.shop.people import journal
from combwright.shop.people.models import Person

MAKE, CHECK = "backup", "check-backup"
_ROOM = "backups"
_FAULT_LETTERS = 500


class NoSuchBackup(CombwrightError):
    """A backup that does not lie in the folder."""


def ask_for_one(person: Person | None, *, scheduled: bool = False) -> Job:
    """Have a backup made by the next free worker; one that is being made already is returned."""
    return jobs.start(MAKE, {"scheduled": scheduled}, person, single=MAKE)


def ask_for_check(person: Person, lying: Lying) -> Job:
    """Have a backup looked at again."""
    return jobs.start(CHECK, {"name": lying.name}, person, single=f"{CHECK} {lying.name}")


def back_up(*, scheduled: bool = False, told: Told = quiet) -> Path:
    """Make a backup in the plan's folder; one of the schedule throws old ones away afterwards.

    Raises
    ------
    CombwrightError
        If it cannot be made; what the schedule could not do stays on the page until it can.
    """
    ours = _kept_plan() if scheduled else plan()
    name = folders.scheduled if scheduled else folders.by_hand
    try:
        path, manifest = make(name(ours.place), schedule=ours.mark if scheduled else "", told=told)
    except CombwrightError as error:
        if scheduled:
            BackupPlan.objects.update(fault=str(error)[:_FAULT_LETTERS])
        journal.write("backup_failed", {"scheduled": scheduled, "why": str(error)}, room=_ROOM)
        raise
    remember(path, "")
    facts: dict[str, str | int] = {"file": path.name, "rows": manifest.rows, "scheduled": scheduled}
    journal.write("backup_made", facts, room=_ROOM)
    if scheduled:
        BackupPlan.objects.update(fault="")
        throw_old_away(ours)
    return path


def remember(path: Path, fault: str) -> None:
    """Write down what a look at a backup found just now."""
    found = {
        "size": path.stat().st_size,
        "checked_at": timezone.now(),
        "fault": fault[:_FAULT_LETTERS],
    }
    Check.objects.update_or_create(name=path.name, defaults=found)


def check_again(name: str) -> str:
    """Look at a backup in the folder; return what is wrong with it, or nothing.

    Raises
    ------
    NoSuchBackup
        If it is no longer there.
    """
    path = plan().place / name
    if not any(each.name == name for each in lying_in(path.parent)):
        raise NoSuchBackup(_("The backup %s is no longer in the folder.") % name)
    fault = ""
    try:
        with opened(path) as backup:
            prove(backup)
    except BadBackup as error:
        fault = str(error)
    remember(path, fault)
    journal.write("backup_checked", {"file": name, "fault": fault}, room=_ROOM)
    return fault


def throw_old_away(ours: BackupPlan) -> list[str]:
    """Delete the schedule's backups that its plan keeps no longer; return their names.

    Only a file is deleted that says of itself that this very schedule made it, and only while
    the newest one was looked at and found sound.
    """
    made = [each for each in lying_in(ours.place) if _is_of(ours, each)]
    sound = set(Check.objects.filter(fault="").values_list("name", flat=True))
    if not made or made[0].name not in sound:
        return []
    moments = {timezone.localtime(each.made_at): each for each in made}
    stay = kept(moments, ours.keep_daily, ours.keep_weekly, ours.keep_monthly)
    gone = []
    for moment, each in moments.items():
        if moment not in stay:
            with contextlib.suppress(OSError):
                each.path.unlink()
                gone.append(each.name)
    Check.objects.filter(name__in=gone).delete()
    if gone:
        journal.write("backups_thrown_away", {"files": " ".join(gone)}, room=_ROOM)
    return gone


def _is_of(ours: BackupPlan, lying: Lying) -> bool:
    if lying.kind != folders.SCHEDULED:
        return False
    manifest = glance(lying.path)
    return manifest is not None and manifest.schedule == ours.mark


@transaction.atomic
def change_plan(person: Person, said: dict[str, Any]) -> None:
    """Change when backups are made and how many are kept."""
    _kept_plan()
    BackupPlan.objects.update(**said, fault="")
    facts = {name: str(value) for name, value in said.items()}
    journal.write("backup_plan_changed", {**facts, "by": person.name}, room=_ROOM)


@transaction.atomic
def ask_if_due() -> Job | None:
    """Have the backup of the day made, once; one that was missed is made when the shop is open."""
    ours = BackupPlan.objects.select_for_update().filter(on=True).first()
    if ours is None:
        return None
    due = last_due(ours.at, timezone.now())
    if ours.asked_at is not None and ours.asked_at >= due:
        return None
    BackupPlan.objects.update(asked_at=timezone.now())
    return ask_for_one(None, scheduled=True)


def _kept_plan() -> BackupPlan:
    return BackupPlan.objects.get_or_create(pk=1)[0]
