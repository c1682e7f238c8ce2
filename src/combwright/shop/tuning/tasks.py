"""Hearing a take, and comparing two, as jobs: they take some seconds, and happen once."""

from typing import TYPE_CHECKING, Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from combwright.errors import CombwrightError
from combwright.shop.jobs.registry import job
from combwright.shop.register.models import Take
from combwright.shop.tuning import take_actions
from combwright.shop.tuning.models import Comparison
from combwright.shop.tuning.take_comparing import compare_takes
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


@job(take_actions.KIND_COMPARING, title=gettext_lazy("Compare two takes"))
def compare(run: "Run", *, comparison: int) -> dict[str, Any]:
    """Compare two takes by their sound, and keep what was found.

    Parameters
    ----------
    run : Run
        Hears when it must stop.
    comparison : int
        The comparison's key.
    """
    sides = [
        f"{side}__{part}" for side in "ab" for part in ("instrument", "microphone", "recording")
    ]
    there = Comparison.objects.select_related(*sides).get(pk=comparison)
    run.progress(0, 0, _("comparing two takes"))
    found: dict[str, Any] | CombwrightError
    try:
        found = there.found or compare_takes(there.a, there.b, matched=there.matched)
    except CombwrightError as error:
        found = error
    with run.closing() as result:
        kept = take_actions.keep_comparison(there, found)
        result["words"] = kept.fault or _("Two takes are compared.")
        result["address"] = reverse("tuning:against", args=[kept.a_id, kept.b_id])
    return result
