"""Listening to one reed after the other: the live page, and what it hands in to be kept."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from django.conf import settings
from django.core.paginator import Paginator
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack.actions import NotSo
from combwright.shop.register.models import Condition, Heard, Instrument
from combwright.shop.register.readings import latest
from combwright.shop.tuning import actions, queries
from combwright.shop.tuning.aims import Aim, aims
from combwright.shop.tuning.clocks import clock_of
from combwright.shop.tuning.forms import ListenForm, ReadForm
from combwright.shop.tuning.line import PATH
from combwright.shop.tuning.models import Microphone
from combwright.shop.tuning.take_shown import tolerance_cents

#: The pages that listen lift the ban on the microphone for themselves.
LENT: Final = "camera=(), microphone=(self), geolocation=()"
PAGE: Final = 50
_LATELY: Final = 12
#: A take recorded on a page, in bytes: what the shop takes at once, less the form around it.
_MOST_RECORDED: Final = settings.MOST_BODY - 2**20


@require_safe
@needs(May.TUNE)
def listed(request: ShopRequest) -> HttpResponse:
    """List the instruments at hand, and ways to listen to others."""
    page = Paginator(queries.to_tune(), PAGE).get_page(request.GET.get("page"))
    return render(request, "tuning/list.html", {"page": page, "form": ListenForm()})


@require_safe
@needs(May.TUNE)
def one(request: ShopRequest, serial: str) -> HttpResponse:
    """Listen to an instrument."""
    instrument = instrument_of(serial)
    there = aims(instrument)
    known = {(h.place, h.taken_id): h for h in latest(instrument)}
    context = {
        "instrument": instrument,
        "aims": [(aim, known.get((aim.place, aim.taken))) for aim in there],
        "lately": queries.lately(instrument, _LATELY),
        **listening(there),
    }
    return lent(render(request, "tuning/one.html", context))


@require_safe
@needs(May.TUNE)
def free(request: ShopRequest) -> HttpResponse:
    """Listen to an instrument that stands in no register; nothing of it is kept."""
    form = ListenForm(request.GET or None)
    if not form.is_valid():
        status = 422 if form.is_bound else 200
        return render(request, "tuning/free.html", {"form": form}, status=status)
    there = form.cleaned_data["aims"]
    context = {"form": form, "aims": [(aim, None) for aim in there], **listening(there)}
    return lent(render(request, "tuning/free.html", context))


def instrument_of(serial: str) -> Instrument:
    """Return an instrument by its serial number, with its order and wish."""
    rows = Instrument.objects.select_related("order__customer", "wish")
    return get_object_or_404(rows, serial=serial)


def listening(there: Sequence[Aim], *, tolerance: float | None = None) -> Mapping[str, Any]:
    """Return what every page that listens needs; the tolerance is the workshop's as a rule."""
    microphones = [
        {
            "id": each.pk, "name": each.name, "ppm": each.ppm,
            "sd": round(clock_of(each).sd_cents, 4), "known": clock_of(each).known,
        }
        for each in Microphone.objects.all()
    ]  # fmt: skip
    told = {
        "line": PATH,
        "tolerance": tolerance_cents() if tolerance is None else tolerance,
        "most": _MOST_RECORDED,
        "aims": [
            {"place": a.place, "label": a.label, "note": a.note, "hz": round(a.hz, 6)}
            for a in there
        ],
        "microphones": microphones,
        "clock": round(clock_of(None).sd_cents, 4),
    }
    return {"told": told, "conditions": Condition.choices, "microphones": microphones}


def lent(response: HttpResponse) -> HttpResponse:
    """Let the page have the microphone."""
    response["Permissions-Policy"] = LENT
    return response


@require_POST
@needs(May.TUNE)
def keep(request: ShopRequest, serial: str) -> HttpResponse:
    """Keep a reading that the live page hands in; the same one twice is one."""
    form = ReadForm(request.POST)
    if not form.is_valid():
        where, words = next(iter(form.errors.items()))
        return JsonResponse({"words": f"{where}: {words[0]}"}, status=422)
    try:
        heard = actions.keep(request.user, instrument_of(serial), form.read())
    except NotSo as error:
        return JsonResponse({"words": str(error)}, status=409)
    return JsonResponse({"id": heard.pk, "words": _("kept")}, status=201)


@require_POST
@needs(May.TUNE)
def strike(request: ShopRequest, key: int) -> HttpResponse:
    """Strike a reading out, or let it count again."""
    heard = get_object_or_404(Heard.objects.select_related("instrument"), pk=key)
    actions.strike(request.user, heard, out=request.POST.get("out") == "yes")
    return redirect("tuning:one", heard.instrument.serial)
