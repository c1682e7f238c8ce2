"""Takes: handing one in, what was heard of it, and striking it out."""

from typing import Final
from uuid import uuid4

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.errors import CombwrightError
from combwright.shop.look.guard import POLICY
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.register.models import Instrument, Take
from combwright.shop.tuning import take_actions, take_queries
from combwright.shop.tuning.aims import aims
from combwright.shop.tuning.clocks import clock_of
from combwright.shop.tuning.live_views import instrument_of
from combwright.shop.tuning.take_forms import TakeForm
from combwright.shop.tuning.take_shown import shown

PAGE: Final = 50
#: Pages that play a recording say so; all others may not.
SOUNDING: Final = f"{POLICY}; media-src 'self'"


@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.TUNE)
def take_in(request: ShopRequest, serial: str) -> HttpResponse:
    """List an instrument's takes, and take one in; one that is sent twice is kept once."""
    instrument = instrument_of(serial)
    if request.method != "POST":
        return _listed(request, instrument, TakeForm(initial=_first(), instrument=instrument))
    try:
        take = take_queries.take_of_key(request.POST.get("key", ""))
        if take is not None:
            return _taken(request, take_actions.same_take(take, instrument))
        form = TakeForm(request.POST, request.FILES, instrument=instrument)
        if form.is_valid():
            return _taken(request, take_actions.take_in(request.user, instrument, form.new()))
    except CombwrightError as error:
        form = _refused(request, instrument, str(error))
    if _wants_json(request):
        return JsonResponse({"words": form.first_words}, status=422)
    return _listed(request, instrument, form, 422)


def _first() -> dict[str, object]:
    return {"key": uuid4()}


def _refused(request: ShopRequest, instrument: Instrument, words: str) -> TakeForm:
    """Return the form as it was typed, with a fresh key and one fault."""
    typed = request.POST.copy()
    typed["key"] = str(uuid4())
    form = TakeForm(typed, instrument=instrument)
    form.errors.clear()
    form.add_error(None, words)
    return form


def _wants_json(request: HttpRequest) -> bool:
    return request.get_preferred_type(["text/html", "application/json"]) == "application/json"


def _taken(request: ShopRequest, take: Take) -> HttpResponse:
    address = reverse("tuning:take", args=[take.pk])
    if _wants_json(request):
        return JsonResponse({"address": address}, status=201)
    return redirect(address)


def _listed(
    request: ShopRequest, instrument: Instrument, form: TakeForm, status: int = 200
) -> HttpResponse:
    takes = take_queries.takes_of(instrument)
    context = {
        "instrument": instrument,
        "form": form,
        "playable": bool(aims(instrument)),
        "page": Paginator(takes, PAGE).get_page(request.GET.get("page")),
    }
    return render(request, "tuning/takes.html", context, status=status)


def take_of(key: int) -> Take:
    """Return a take with what its page says of it."""
    rows = Take.objects.select_related("instrument__wish", "by", "microphone", "struck_by")
    return get_object_or_404(rows, pk=key)


@never_cache
@require_safe
@needs(May.TUNE)
def one(request: ShopRequest, key: int) -> HttpResponse:
    """Show a take: while it is being heard that, then its readings."""
    take = take_of(key)
    context: dict[str, object] = {"take": take, "instrument": take.instrument}
    if take.state == Take.WAITING:
        context |= {"job": take_queries.job_of(take)}
    elif take.state == Take.HEARD:
        context |= _heard(take)
    answer = render(request, "tuning/take.html", context)
    answer["Content-Security-Policy"] = SOUNDING
    return answer


def _heard(take: Take) -> dict[str, object]:
    before = take_queries.take_before(take)
    earlier = [] if before is None else take_queries.readings_of(before)
    told = shown(take, take_queries.readings_of(take), earlier)
    return {"before": before, "clock": clock_of(take.microphone), **told}


@never_cache
@require_safe
@needs(May.TUNE)
def state(request: ShopRequest, key: int) -> HttpResponse:
    """Show that a take is being heard, for a page that asks again; at the end, renew the page."""
    take = take_of(key)
    context = {"take": take, "job": take_queries.job_of(take)}
    answer = render(request, "tuning/_take_state.html", context)
    if take.state != Take.WAITING:
        answer.headers["HX-Refresh"] = "true"
    return answer


@require_safe
@needs(May.TUNE)
def sound(_request: ShopRequest, key: int) -> HttpResponse:
    """Give the recording of a take, as it is kept."""
    take = get_object_or_404(Take.objects.select_related("recording", "instrument"), pk=key)
    answer = HttpResponse(bytes(take.recording.data), content_type="audio/flac")
    answer["Content-Disposition"] = f'inline; filename="take-{take.pk}.flac"'
    return answer


@require_POST
@needs(May.TUNE)
def again(request: ShopRequest, key: int) -> HttpResponse:
    """Have a take heard whose job came to nothing."""
    take_actions.hear_again(request.user, take_of(key))
    return redirect("tuning:take", key)


@require_POST
@needs(May.TUNE)
def strike(request: ShopRequest, key: int) -> HttpResponse:
    """Strike a take out, or let it count again."""
    out = request.POST.get("out") == "yes"
    take_actions.strike_take(request.user, take_of(key), out=out)
    if out:
        messages.success(request, _("Take %d is struck out: its readings no longer count.") % key)
    else:
        messages.success(request, _("Take %d counts again.") % key)
    return redirect("tuning:take", key)
