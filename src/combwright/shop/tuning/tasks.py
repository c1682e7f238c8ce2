"""Hearing a take as a job: it may take some seconds, and it happens once."""

from typing import TYPE_CHECKING, Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from combwright.errors import CombwrightError
from combwright.shop.jobs.registry import job
from combwright.shop.register.models import Take
from combwright.shop.tuning import take_actions
from combwright.shop.tuning.take_hearing import Found, listen

if TYPE_CHECKING:
    from combwright.shop.jobs.run import Run


@job(take_actions.KIND, title=gettext_lazy("Hear a take"))
def hear(run: "Run", *, take: int) -> dict[str, Any]:
    """Hear a take, and keep its readings.

    Parameters
    ----------
    run : Run
        Hears when it must stop.
    take : int
        The take's key.
    """
    rows = Take.objects.select_related("instrument", "microphone", "recording", "by")
    there = rows.get(pk=take)
    run.progress(0, 0, _("hearing the take"))
    found: Found | CombwrightError
    try:
        # What was heard already is not heard again; that is looked at once more where it is kept.
        found = listen(there) if there.state == Take.WAITING else Found((), (), (), ())
    except CombwrightError as error:
        found = error
    with run.closing() as result:
        kept = take_actions.keep_heard(there, found)
        result["words"] = kept.fault or _words(kept)
        result["address"] = reverse("tuning:take", args=[kept.pk])
    return result


def _words(take: Take) -> str:
    heard = take.readings.count()
    told = ngettext("%(n)d reed was heard.", "%(n)d reeds were heard.", heard)
    return told % {"n": heard}
