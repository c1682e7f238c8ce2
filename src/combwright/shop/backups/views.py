"""The owner's pages about backups: what there is, one more now, the schedule."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, Final, ParamSpec

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.backups import actions, queries
from combwright.shop.backups.folder import Lying
from combwright.shop.backups.forms import PlanForm
from combwright.shop.backups.sending import sent
from combwright.shop.people import journal
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.people.views import posted, status

P = ParamSpec("P")
PAGE: Final = 50
View = Callable[Concatenate[ShopRequest, P], HttpResponse]


def real_shop_only(view: View[P]) -> View[P]:
    """Let a view be there in the real shop only: a practice shop is no shop to back up."""

    @wraps(view)
    def only(request: ShopRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if settings.PRACTICE:
            raise Http404
        return view(request, *args, **kwargs)

    return only


@require_safe
@needs(May.BACKUP)
@real_shop_only
def listed(request: ShopRequest) -> HttpResponse:
    """List the backups there are."""
    page = Paginator(queries.backups(), PAGE).get_page(request.GET.get("page"))
    return render(request, "backups/list.html", {"page": page, "plan": queries.plan()})


@require_POST
@needs(May.BACKUP)
@real_shop_only
def now(request: ShopRequest) -> HttpResponse:
    """Have a backup made now."""
    job = actions.ask_for_one(request.user)
    return redirect("jobs:one", job.pk)


@require_POST
@needs(May.BACKUP)
@real_shop_only
def check(request: ShopRequest, name: str) -> HttpResponse:
    """Have a backup looked at again."""
    job = actions.ask_for_check(request.user, _named(name))
    return redirect("jobs:one", job.pk)


@never_cache
@require_safe
@needs(May.BACKUP)
@real_shop_only
def download(request: ShopRequest, name: str) -> HttpResponse:
    """Send a backup."""
    lying = _named(name)
    journal.write("backup_taken", {"file": name, "by": request.user.name}, room="backups")
    return sent(request, lying.path)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.BACKUP)
@real_shop_only
def change_plan(request: ShopRequest) -> HttpResponse:
    """Show the schedule; a POST changes it."""
    form = PlanForm(posted(request), instance=queries.plan())
    if form.is_valid():
        actions.change_plan(request.user, form.said)
        messages.success(request, _("The schedule is as you wrote it."))
        return redirect("backups:list")
    return render(request, "backups/plan.html", {"form": form}, status=status(request))


def _named(name: str) -> Lying:
    lying = queries.named(name)
    if lying is None:
        raise Http404
    return lying
