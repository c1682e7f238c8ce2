"""Working answers out as jobs: each is kept with the end of its job, so it is there once."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from combwright.shop.choosing import actions
from combwright.shop.choosing.matching import Told, ranked
from combwright.shop.choosing.models import Answer
from combwright.shop.choosing.swapping import swapped_for
from combwright.shop.jobs.registry import job
from combwright.shop.repertoire.models import Repertoire

if TYPE_CHECKING:
    from combwright.shop.jobs.run import Run

Work = Callable[[Repertoire, Mapping[str, Any], Told], actions.Worked]


@job(actions.JOBS[Answer.MATCH], title=gettext_lazy("Rank layouts"))
def match(run: "Run", *, answer: int) -> dict[str, Any]:
    """Rank layouts for a repertoire.

    Parameters
    ----------
    run : Run
        Tells how far it is, and hears when it must stop.
    answer : int
        The key of the answer that is wanted.
    """
    return _worked_out(run, answer, ranked)


@job(actions.JOBS[Answer.SWAPS], title=gettext_lazy("Find swaps"))
def swaps(run: "Run", *, answer: int) -> dict[str, Any]:
    """Find the best reeds to swap for a repertoire.

    Parameters
    ----------
    run : Run
        Tells how far it is, and hears when it must stop.
    answer : int
        The key of the answer that is wanted.
    """
    return _worked_out(run, answer, swapped_for)


def _worked_out(run: "Run", key: int, work: Work) -> dict[str, Any]:
    run.progress(0, 0, _("reading the tunes"))
    there = Answer.objects.select_related("repertoire").filter(pk=key).first()
    if there is None:
        return {"words": _("Nobody wants it any more: it was thrown away.")}
    worked = work(there.repertoire, there.asked, run.progress)
    with run.closing() as result:
        kept = actions.keep(key, worked)
        if kept is None:
            result["words"] = _("Nobody wants it any more: it was thrown away.")
        else:
            result["words"] = kept.best
            result["address"] = reverse("choosing:one", args=[kept.pk])
    return result
