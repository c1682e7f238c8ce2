"""Two takes beside each other: by their readings at once, by their sound when somebody asks."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from combwright.errors import CombwrightError
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.register.models import Take
from combwright.shop.tuning import take_actions, take_queries
from combwright.shop.tuning.models import Comparison
from combwright.shop.tuning.take_comparing import beside
from combwright.shop.tuning.take_forms import AgainstForm
from combwright.shop.tuning.take_views import take_of


@require_safe
@needs(May.TUNE)
def choose(request: ShopRequest, key: int) -> HttpResponse:
    """Choose what a take is to stand beside: another of its instrument, or of another one."""
    take = take_of(key)
    form = AgainstForm(request.GET or None, take=take)
    if form.is_valid():
        return redirect("tuning:against", take.pk, form.cleaned_data["other"].pk)
    status = 422 if form.is_bound else 200
    context = {"take": take, "instrument": take.instrument, "form": form}
    return render(request, "tuning/take_choose.html", context, status=status)


@never_cache
@require_safe
@needs(May.TUNE)
def against(request: ShopRequest, key: int, other: int) -> HttpResponse:
    """Show two takes beside each other."""
    a, b = take_of(key), take_of(other)
    matched = request.GET.get("levels") == "matched"
    made = take_queries.comparison_of(a, b, matched=matched)
    context = {
        "a": a,
        "b": b,
        "matched": matched,
        "rows": beside(take_queries.readings_of(a), take_queries.readings_of(b)),
        **_state(made),
    }
    return render(request, "tuning/take_against.html", context)


def _state(made: Comparison | None) -> dict[str, Any]:
    if made is None:
        return {}
    if made.found is not None:
        # The picture was drawn by this program, which escapes every value.
        return {"made": made, "found": made.found, "drawing": mark_safe(made.found["svg"])}
    return {"made": made, "job": None if made.fault else take_queries.job_of_comparison(made)}


@require_POST
@needs(May.TUNE)
def compare(request: ShopRequest, key: int, other: int) -> HttpResponse:
    """Have two takes compared by their sound."""
    matched = request.POST.get("levels") == "matched"
    try:
        take_actions.have_compared(request.user, take_of(key), take_of(other), matched=matched)
    except CombwrightError as error:
        messages.error(request, str(error))
    answer = redirect("tuning:against", key, other)
    if matched:
        answer["Location"] += "?levels=matched"
    return answer


@never_cache
@require_safe
@needs(May.TUNE)
def state(request: ShopRequest, key: int, other: int) -> HttpResponse:
    """Show how far a comparison is, for a page that asks again; at the end, renew the page."""
    a, b = Take(pk=key), Take(pk=other)
    matched = request.GET.get("levels") == "matched"
    made = take_queries.comparison_of(a, b, matched=matched)
    context = {"a": a, "b": b, "matched": matched, **_state(made)}
    answer = render(request, "tuning/_take_comparing.html", context)
    if made is None or made.found is not None or made.fault:
        answer.headers["HX-Refresh"] = "true"
    return answer
