"""The work of backups that takes its time, and the look at the clock."""

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from combwright.shop.backups import actions
from combwright.shop.backups.manifest import BadBackup
from combwright.shop.jobs.registry import job
from combwright.shop.jobs.regular import regular

if TYPE_CHECKING:
    from combwright.shop.jobs.run import Run

_STEPS = 100


@job(actions.MAKE, title=gettext_lazy("Backup"))
def back_up(run: "Run", *, scheduled: bool = False) -> dict[str, Any]:
    """Make a backup; a second one, if the first try was cut short, does no harm."""

    def told(text: str, share: float) -> None:
        run.progress(round(share * _STEPS), _STEPS, text)

    path = actions.back_up(scheduled=scheduled, told=told)
    words = _("The backup %s was made, checked and proved.") % path.name
    return {"words": words, "address": reverse("backups:list")}


@job(actions.CHECK, title=gettext_lazy("Check of a backup"))
def check(_run: "Run", *, name: str) -> dict[str, Any]:
    """Look at a backup again; one that is not sound makes the job fail, so that it is seen."""
    fault = actions.check_again(name)
    if fault:
        raise BadBackup(fault)
    words = _("The backup %s is sound: nothing in it has changed, and its ledger adds up.") % name
    return {"words": words, "address": reverse("backups:list")}


@regular(every=timedelta(minutes=1))
def make_what_is_due() -> None:
    """Have the day's backup made when its time has come; a practice shop makes none."""
    if not settings.PRACTICE:
        actions.ask_if_due()
