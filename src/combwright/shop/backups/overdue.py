"""What the day's page says of backups: to those who may make one, when none is made or one is late.

It looks at the schedule and at the jobs, not into the folder, which may lie far away.
"""

from datetime import timedelta
from typing import Final

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.backups.actions import MAKE
from combwright.shop.backups.models import BackupPlan
from combwright.shop.backups.queries import last_due
from combwright.shop.jobs.models import Job
from combwright.shop.people.models import Person
from combwright.shop.people.roles import May, allowed
from combwright.shop.today.notices import notice
from combwright.shop.today.parts import Act, Section
from combwright.shop.today.ways import way

#: A backup of every day may take so long before it is missed.
_PATIENCE: Final = timedelta(hours=2)
#: Where backups are made by hand, one is missed after so long.
_BY_HAND: Final = timedelta(days=7)


@notice
def says(person: Person) -> Section | None:
    """Tell the owner that a backup is overdue, and since when."""
    if settings.PRACTICE or not allowed(person.role, May.BACKUP):
        return None
    why = _why()
    if not why:
        return None
    address = way("backups:list")
    return Section(
        "backup", _("Backup overdue"), 1, (), Act(_("See the backups"), address), address, why
    )  # fmt: skip


def _why() -> str:
    ours = BackupPlan.objects.first() or BackupPlan()
    if ours.fault:
        return ours.fault
    done = Job.objects.filter(kind=MAKE, state=Job.DONE).order_by("-finished_at")
    last = done.values_list("finished_at", flat=True).first()
    now = timezone.now()
    if ours.on:
        # A schedule that has asked for none yet has missed none.
        missed = last_due(ours.at, now - _PATIENCE)
        late = ours.asked_at is not None and (last is None or last < missed)
        return _("The backup of the day was not made.") if late else ""
    if last is None:
        return _("No backup was made lately, and none is made by itself.")
    if now - last <= _BY_HAND:
        return ""
    words = _("The last backup was made %d days ago, and none is made by itself.")
    return words % (now - last).days
