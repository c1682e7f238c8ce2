"""Blind listening: A, B and X, where X is A or B and this page does not know which."""

from typing import Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.ear.blind import chance_of
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack.actions import NotSo
from combwright.shop.tuning import blind_actions, take_queries
from combwright.shop.tuning.blind_forms import USUAL, BlindForm, wanted
from combwright.shop.tuning.blind_sound import excerpt
from combwright.shop.tuning.models import BlindTest
from combwright.shop.tuning.take_comparing import beside
from combwright.shop.tuning.take_shown import labels_of
from combwright.shop.tuning.take_views import SOUNDING, take_of

_LATELY: Final = 20
_SIGNIFICANT: Final = 0.05
#: What happens less often than this is told as one of so many.
_SELDOM: Final = 0.1
_LEAST_SHOWN: Final = 0.0001


@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.TUNE)
def begin(request: ShopRequest, a: int, b: int) -> HttpResponse:
    """Choose a seat and the number of trials; a POST begins a test."""
    first, second = take_of(a), take_of(b)
    rows = beside(take_queries.readings_of(first), take_queries.readings_of(second))
    form = BlindForm(request.POST or None, a=first, b=second, rows=rows)
    if form.is_valid():
        test = blind_actions.begin(request.user, first, second, **form.cleaned_data)
        return redirect("tuning:blind", test.pk)
    context = {
        "a": first,
        "b": second,
        "form": form,
        "playable": bool(form.fields["place"].choices),  # type: ignore[attr-defined]
        "usual": USUAL,
        "wanted": wanted(USUAL),
        "tests": take_queries.blind_tests(first, second)[:_LATELY],
    }
    return render(request, "tuning/blind_begin.html", context, status=422 if form.errors else 200)


def _own(request: ShopRequest, key: int) -> BlindTest:
    """Return a test of whoever asks; nobody answers for somebody else."""
    rows = BlindTest.objects.select_related("a__instrument", "b__instrument", "by")
    return get_object_or_404(rows, pk=key, by=request.user)


@never_cache
@require_safe
@needs(May.TUNE)
def listen(request: ShopRequest, key: int) -> HttpResponse:
    """Show the trial that is asked now; after the last one, what came of all."""
    test = _own(request, key)
    context = {
        "test": test,
        "label": labels_of([test.place])[test.place],
        "wanted": wanted(test.trials),
    }
    if test.over:
        context |= _result(test)
        return render(request, "tuning/blind_result.html", context)
    answer = render(request, "tuning/blind_listen.html", context)
    answer["Content-Security-Policy"] = SOUNDING
    return answer


def _result(test: BlindTest) -> dict[str, object]:
    """Return what chance says of the answers: as a share of a hundred, or as one of so many."""
    chance = chance_of(test.right, test.trials)
    return {
        "hears": chance < _SIGNIFICANT,
        "chance": chance if chance >= _LEAST_SHOWN else None,
        "percent": 100 * chance if chance >= _SELDOM else None,
        "one_of": round(1 / chance),
    }


@never_cache
@require_safe
@needs(May.TUNE)
def sound(request: ShopRequest, key: int, number: int, which: str) -> HttpResponse:
    """Give A, B or X of the trial that is asked now; their files are as long as one another."""
    test = _own(request, key)
    if which not in ("a", "b", "x") or test.over or number != test.number:
        raise Http404
    return HttpResponse(excerpt(test, which), content_type="audio/wav")


@require_POST
@needs(May.TUNE)
def answer(request: ShopRequest, key: int) -> HttpResponse:
    """Take an answer; whether it was right is told after the last one."""
    test = _own(request, key)
    said, number = request.POST.get("said", ""), request.POST.get("number", "")
    try:
        if said in ("a", "b") and number.isdecimal():
            blind_actions.answer(test, int(number[:9]), said)
    except NotSo as error:
        messages.warning(request, str(error))
    return redirect("tuning:blind", test.pk)
