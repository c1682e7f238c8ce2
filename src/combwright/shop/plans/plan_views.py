"""The pages of one plan: what it says, its orders, plates and shortages; setting aside and undo."""

from collections.abc import Collection
from typing import Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from combwright.errors import CombwrightError
from combwright.shop.designs.queries import workshop
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.plans import actions, queries
from combwright.shop.plans.forms import ShownForm
from combwright.shop.plans.models import MadePlan, Taken
from combwright.shop.plans.picture import MOST_ORDERS, MOST_SHORTAGES, drawn_shortages

PAGE: Final = 50
_FIRST: Final = 10


def _plan(number: int) -> MadePlan:
    return get_object_or_404(queries.made_plans(), pk=number)


@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, number: int) -> HttpResponse:
    """Show what a plan says, whether it is old, and what it would change."""
    return _one(request, _plan(number))


def _one(
    request: ShopRequest, plan: MadePlan, refused: CombwrightError | None = None
) -> HttpResponse:
    counted = queries.figures(plan)
    waiting = list(queries.orders_of(plan, show="waiting")[:MOST_ORDERS])
    shortages = list(plan.shortages.all()[:MOST_SHORTAGES])
    context = {
        "plan": plan, "counted": counted, "shortages": shortages[:_FIRST],
        "changed": [] if plan.set_aside_at else queries.changed_since(plan, counted),
        "gap_percent": 100 * plan.head["gap"], "currency": workshop().currency, "refused": refused,
        "picture": drawn_shortages(waiting, shortages) if waiting and shortages else "",
        "drawn": len(waiting), "held": queries.held_aside(Taken.objects.filter(plan=plan)),
        "served": queries.orders_served(plan),
        "effect": queries.effect(plan) if plan.what_if else None,
    }  # fmt: skip
    return render(request, "plans/one.html", context, status=409 if refused else 200)


@require_safe
@needs(May.LOOK)
def orders(request: ShopRequest, number: int) -> HttpResponse:
    """List a plan's orders, fifty a page, to be ticked and set aside for."""
    return _orders(request, _plan(number))


def _orders(
    request: ShopRequest,
    plan: MadePlan,
    ticked: Collection[str] = (),
    refused: CombwrightError | None = None,
) -> HttpResponse:
    form = ShownForm(request.GET)
    asked = form.cleaned_data if form.is_valid() else {}
    rows = queries.orders_of(plan, show=asked.get("show", ""), text=asked.get("text", ""))
    page = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    shown = list(page.object_list)
    texts = queries.texts_of(plan, shown)
    for row in shown:
        row.words = [texts[n] for n in row.lacks if n in texts]  # type: ignore[attr-defined]
    context = {
        "plan": plan, "form": form, "page": page, "rows": shown, "ticked": ticked,
        "refused": refused, "currency": workshop().currency,
        "can_tick": not plan.set_aside_at and any(r.ready and not r.arrives for r in shown),
    }  # fmt: skip
    return render(request, "plans/orders.html", context, status=409 if refused else 200)


@require_safe
@needs(May.LOOK)
def plates(request: ShopRequest, number: int) -> HttpResponse:
    """List plates of a plan: those retuned, those it would move, or all of one order."""
    plan, order = _plan(number), request.GET.get("order", "")
    show = request.GET.get("show", "")
    if show not in ("retuned", "moved", "") or not (show or order):
        raise Http404
    found = queries.PlateList(plan, show=show, order=order)
    page = Paginator(found, PAGE).get_page(request.GET.get("page"))
    context = {"plan": plan, "page": page, "show": show, "order": order}
    return render(request, "plans/plates.html", context)


@require_safe
@needs(May.LOOK)
def shortages(request: ShopRequest, number: int) -> HttpResponse:
    """List what a plan's orders lack, the largest first."""
    plan = _plan(number)
    page = Paginator(plan.shortages.defer("said"), PAGE).get_page(request.GET.get("page"))
    return render(request, "plans/shortages.html", {"plan": plan, "page": page})


@require_POST
@needs(May.PLAN)
def set_aside(request: ShopRequest, number: int) -> HttpResponse:
    """Set aside what a plan gives to its ready orders: to all of them, or to those ticked."""
    plan = _plan(number)
    ticked = None if "all" in request.POST else request.POST.getlist("order")
    try:
        actions.set_aside(request.user, plan, ticked)
    except (actions.PlanIsOld, actions.NotReady) as error:
        if ticked is None:
            return _one(request, plan, error)
        return _orders(request, plan, ticked, error)
    many = Taken.objects.filter(plan=plan).values("order").distinct().count()
    messages.success(
        request,
        ngettext(
            "Done: plates are set aside for %d order.",
            "Done: plates are set aside for %d orders.",
            many,
        )
        % many,
    )
    return redirect("plans:one", plan.pk)


@require_POST
@needs(May.PLAN)
def undo(request: ShopRequest, number: int) -> HttpResponse:
    """Give back what a plan set aside, as far as nobody has begun to pick it."""
    plan = _plan(number)
    try:
        many = actions.undo(request.user, plan)
    except actions.PlanIsOld as error:
        return _one(request, plan, error)
    if many:
        words = ngettext(
            "Done: %d order gave its plates back.", "Done: %d orders gave their plates back.", many
        )
        messages.success(request, words % many)
    else:
        messages.warning(request, _("Nothing was given back: all its orders are being picked."))
    return redirect("plans:one", plan.pk)
