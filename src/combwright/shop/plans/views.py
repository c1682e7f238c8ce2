"""The pages that begin a plan: the list of plans, a plan of the shop as it is, and what if."""

from collections.abc import Mapping
from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.jobs import actions as jobs
from combwright.shop.jobs.models import Job
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.models import Person
from combwright.shop.people.roles import May
from combwright.shop.plans import queries
from combwright.shop.plans.forms import PlanForm, SetForms, WhatIfForm
from combwright.shop.plans.tasks import KIND

PAGE: Final = 50
_ROWS: Final = "sets-TOTAL_FORMS"


@require_safe
@needs(May.LOOK)
def listed(request: ShopRequest) -> HttpResponse:
    """List the plans that were made, the newest first."""
    return _listed(request, PlanForm())


def _listed(request: ShopRequest, form: PlanForm, status: int = 200) -> HttpResponse:
    page = Paginator(queries.made_plans(), PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "form": form, "at_work": at_work()}
    return render(request, "plans/list.html", context, status=status)


def at_work() -> Job | None:
    """Return the planning that is going on."""
    return Job.objects.filter(single=KIND, state__in=Job.OPEN).first()


@require_POST
@needs(May.PLAN)
def start(request: ShopRequest) -> HttpResponse:
    """Plan all open orders, and show how far it is."""
    form = PlanForm(request.POST)
    if not form.is_valid():
        return _listed(request, form, 422)
    job, mine = _begin({"seconds": float(form.cleaned_data["seconds"])}, request.user)
    if not mine:
        messages.info(request, _("A plan is being made already: this is it."))
    return redirect("jobs:one", job.pk)


def _begin(arguments: Mapping[str, Any], person: Person) -> tuple[Job, bool]:
    """Begin to plan; one plan is made at a time, so this may be somebody else's."""
    job = jobs.start(KIND, arguments, person, single=KIND)
    return job, job.arguments == arguments and job.made_by_id == person.pk


@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.PLAN)
def what_if(request: ShopRequest) -> HttpResponse:
    """Ask what a plan would be if; nothing is set aside by it."""
    if request.method != "POST":
        first = {name: request.GET.get(name, "") for name in ("without", "promised")}
        return _asked(request, WhatIfForm(initial=first), SetForms(prefix="sets"), 200)
    if "more" in request.POST:
        return _with_more_rows(request)
    form, sets = WhatIfForm(request.POST), SetForms(request.POST, prefix="sets")
    if not (form.is_valid() & sets.is_valid()):
        return _asked(request, form, sets, 422)
    said = form.cleaned_data
    question = {
        "without": said["without"], "promised": said["promised"], "sets": sets.said,
        "seconds": float(said["seconds"]),
    }  # fmt: skip
    if not (said["without"] or said["promised"] or sets.said):
        form.add_error(None, _("Say what is to be different: an order to leave out or to promise, "
                               "or sets that are expected."))  # fmt: skip
        return _asked(request, form, sets, 422)
    job, mine = _begin(question, request.user)
    if mine:
        return redirect("jobs:one", job.pk)
    form.add_error(None, _("Another plan is being made; ask again when it is done or stopped."))
    return _asked(request, form, sets, 409)


def _with_more_rows(request: ShopRequest) -> HttpResponse:
    """Show the form again as it was typed, with two more rows for sets."""
    typed = request.POST.copy()
    rows = typed.get(_ROWS, "")
    typed[_ROWS] = str(min((int(rows) if rows.isdecimal() else 0) + 2, SetForms.max_num))
    # Bound without being asked whether they are right: nobody said yet that this is all.
    return _asked(request, WhatIfForm(typed), SetForms(typed, prefix="sets"), 200, checked=False)


def _asked(
    request: ShopRequest, form: WhatIfForm, sets: Any, status: int, *, checked: bool = True
) -> HttpResponse:
    if not checked:
        for each in (form, *sets.forms):
            each.errors.clear()
    context = {"form": form, "sets": sets, "at_work": at_work(), "checked": checked}
    return render(request, "plans/what_if.html", context, status=status)
