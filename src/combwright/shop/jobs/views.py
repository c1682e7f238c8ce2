"""The pages of jobs: the list, one job with how far it is, and stopping it."""

from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from combwright.shop.jobs import actions
from combwright.shop.jobs.forms import JobsForm
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.queries import (
    is_left,
    job_seen_by,
    jobs_seen_by,
    may_watch,
    nobody_comes,
)
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May

PAGE: Final = 50


@require_safe
@needs(May.LOOK)
def listed(request: ShopRequest) -> HttpResponse:
    """List one's own jobs, or everybody's for those who may watch them."""
    form = JobsForm(request.GET, watcher=may_watch(request.user))
    asked = form.cleaned_data if form.is_valid() else {}
    jobs = jobs_seen_by(
        request.user, mine=asked.get("whose") == "mine", state=asked.get("state", "")
    )
    page = Paginator(jobs, PAGE).get_page(request.GET.get("page"))
    context = {"form": form, "page": page, "watches": may_watch(request.user)}
    return render(request, "jobs/list.html", context)


@never_cache
@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, number: int) -> HttpResponse:
    """Show a job: how far it is, or what came of it."""
    return render(request, "jobs/one.html", _shown(job_seen_by(request.user, number)))


@never_cache
@require_safe
@needs(May.LOOK)
def state(request: ShopRequest, number: int) -> HttpResponse:
    """Show how far a job is, for a page that asks again and again; at the end, renew the page."""
    job = job_seen_by(request.user, number)
    answer = render(request, "jobs/_state.html", _shown(job))
    if not job.is_open:
        answer.headers["HX-Refresh"] = "true"
    return answer


def _shown(job: Job) -> dict[str, Any]:
    return {"job": job, "left": is_left(job), "nobody_comes": nobody_comes(job)}


@require_POST
@needs(May.LOOK)
def stop(request: ShopRequest, number: int) -> HttpResponse:
    """Have a job stopped."""
    seen = job_seen_by(request.user, number)
    job = actions.ask_to_stop(seen, request.user)
    if job.state == Job.STOPPED:
        messages.success(request, _("Job %d is stopped.") % job.pk)
    elif job.is_open:
        messages.info(request, _("Job %d stops at its next step.") % job.pk)
    else:
        messages.warning(request, _("Job %d was over before it could be stopped.") % job.pk)
    return redirect("jobs:one", job.pk)
