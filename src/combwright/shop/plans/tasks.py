"""Planning as a job: the answer is kept until somebody sets it aside."""

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from combwright.allocation.planner import plan
from combwright.allocation.stock import Bin as StockBin
from combwright.files.answers import plan_answer
from combwright.shop.designs.queries import workshop
from combwright.shop.jobs.registry import job
from combwright.shop.plans import actions
from combwright.shop.plans.asking import Question, asked
from combwright.shop.plans.expected import bins_of_set

if TYPE_CHECKING:
    from combwright.shop.jobs.run import Run

KIND: Final = "plan"
_STEPS: Final = 1000
_LEAST_SECONDS: Final = 1.0


@job(KIND, title=gettext_lazy("Plan"))
def make_plan(
    run: "Run",
    *,
    seconds: float = 30.0,
    without: list[str] | None = None,
    promised: list[str] | None = None,
    sets: list[dict[str, Any]] | None = None,
) -> dict[str, Any]:
    """Plan all open orders, and keep the answer.

    Parameters
    ----------
    run : Run
        Tells how far it is, and hears when it must stop.
    seconds : float
        Give the best answer so far after about this long.
    without, promised : list of str
        Numbers of orders to leave out, and to promise, in this plan alone.
    sets : list of dict
        Expected sets to reckon with: `key`, `sets`, `arrives`, and `cost` of one plate.
    """
    expected: list[StockBin] = []
    for each in sets or ():
        day = date.fromisoformat(each["arrives"])
        expected += bins_of_set(each["key"], each["sets"], day, Decimal(each.get("cost", "0")))
    question = Question(frozenset(without or ()), frozenset(promised or ()), tuple(expected))
    run.progress(0, _STEPS, _("reading orders and racks"))
    problem = asked(question)
    answer = plan(
        problem.stock, problem.orders, workshop(),
        seconds=max(seconds, _LEAST_SECONDS), keep=problem.keep,
        progress=lambda text, share: run.progress(round(share * _STEPS), _STEPS, text),
    )  # fmt: skip
    said = {
        "without": without or [], "promised": promised or [], "sets": sets or [],
        "seconds": seconds, **problem.said,
    }  # fmt: skip
    with run.closing() as result:
        made = actions.keep_answer(run.job.made_by, said, plan_answer(answer))
        result["words"] = _("%(ready)d of %(all)d orders can be built in full.") % {
            "ready": made.ready, "all": made.all_orders,
        }  # fmt: skip
        result["address"] = reverse("plans:one", args=[made.pk])
        result["plan"] = made.pk
    return result
