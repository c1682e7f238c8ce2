"""Plans for programs."""

from django.utils.translation import gettext as _
from ninja import Path, Query, Router

from combwright.shop.api import problems
from combwright.shop.api.operations import reads
from combwright.shop.api.order_given import PlansAsked
from combwright.shop.api.order_told import Plans, PlanTold, PlanWhole
from combwright.shop.api.problems import Problem
from combwright.shop.api.words import Number
from combwright.shop.people.roles import May
from combwright.shop.plans.models import MadePlan

router = Router(tags=["Plans"])


@reads(router, "/plans", May.PLAN, Plans)
def list_plans(asked: Query[PlansAsked]) -> Plans:
    """List the plans that are kept, the newest first."""
    found = MadePlan.objects.select_related("made_by").defer("asked", "head").order_by("-pk")
    if asked.before is not None:
        found = found.filter(pk__lt=asked.before)
    part = list(found[: asked.limit + 1])
    told = [PlanTold.of(each) for each in part[: asked.limit]]
    return Plans(plans=told, next=told[-1].plan if len(part) > asked.limit else None)


@reads(router, "/plans/{int:plan}", May.PLAN, PlanWhole)
def show_plan(plan: Path[Number]) -> PlanWhole:
    """Show a plan with its whole answer; one about many orders is long."""
    found = MadePlan.objects.select_related("made_by").filter(pk=plan).first()
    if found is None:
        raise Problem(problems.NOT_THERE, _("There is no plan %(plan)d.") % {"plan": plan})
    return PlanWhole.whole(found)
