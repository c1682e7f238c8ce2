"""Loading tunes: sent, looked at with what could not be read, ticked, and taken in."""

from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from combwright.shop.jobs import actions as jobs
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.people.views import posted, status
from combwright.shop.repertoire import intake_actions, queries
from combwright.shop.repertoire.actions import NotSo
from combwright.shop.repertoire.forms import LoadForm
from combwright.shop.repertoire.models import FoundTune, Intake, Repertoire
from combwright.shop.repertoire.rows import bars_in, beginning, signature, span
from combwright.shop.repertoire.views import PAGE, form_page, keys, told

#: More lines of what could not be read than this are counted, not shown.
MOST_FAULTS: Final = 1_000


@form_page
@needs(May.WISH)
@told
def load(request: ShopRequest, key: int) -> HttpResponse:
    """Take files of tunes, to be looked at; where none holds a tune, say why."""
    repertoire = get_object_or_404(Repertoire.objects.select_related("customer"), pk=key)
    form = LoadForm(posted(request), request.FILES or None)
    faults: list[str] = []
    if form.is_valid():
        kept = intake_actions.keep(request.user, repertoire, form.given())
        if kept.read_at is None or kept.found.exists():
            return redirect("repertoire:intake", kept.pk)
        faults = list(kept.faults)
        intake_actions.throw_away(kept.pk)
    context = {"form": form, "repertoire": repertoire, **_faults(faults)}
    return render(request, "repertoire/load.html", context, status=status(request))


def _faults(faults: list[str]) -> dict[str, Any]:
    return {"faults": faults[:MOST_FAULTS], "more_faults": max(0, len(faults) - MOST_FAULTS)}


@never_cache
@form_page
@needs(May.WISH)
def one(request: ShopRequest, key: int) -> HttpResponse:
    """Show what the files of an intake hold; a POST keeps ticks, and takes the tunes in."""
    refused = ""
    try:
        if request.method == "POST":
            answer = _done(request, key)
            if answer is not None:
                return answer
    except intake_actions.Gone as error:
        return _gone(request, error)
    except NotSo as error:
        refused = str(error)
    intake = queries.intake_shown(key)
    if intake is None:
        return _gone(request, intake_actions.Gone())
    context = {"intake": intake, "repertoire": intake.repertoire, "refused": refused}
    context |= _reading(intake) if intake.read_at is None else _preview(request, intake)
    page = "reading" if intake.read_at is None else "intake"
    return render(request, f"repertoire/{page}.html", context, status=422 if refused else 200)


def _gone(request: ShopRequest, why: intake_actions.Gone) -> HttpResponse:
    messages.warning(request, str(why))
    return redirect("repertoire:list")


def _reading(intake: Intake) -> dict[str, Any]:
    return {
        "job": intake.job,
        "state": reverse("repertoire:intake-state", args=[intake.pk]),
        "waiting": _("The files wait for a worker that is free."),
        "stopped": _("Reading the files was stopped. They are kept for now."),
    }


def _done(request: ShopRequest, key: int) -> HttpResponse | None:
    """Keep the ticks of the page that was sent, and do what its button says."""
    do, sent = request.POST.get("do", ""), request.POST
    intake_actions.tick(key, keys(sent.getlist("seen")), keys(sent.getlist("tune")))
    if do in ("all", "none"):
        intake_actions.tick_all(key, wanted=do == "all")
    if do != "take":
        page = do if do.isdecimal() else sent.get("page", "1")
        return redirect(f"{request.path}?page={page}" if page.isdecimal() else request.path)
    there = queries.intake_shown(key)
    taken = intake_actions.take_in(request.user, key)
    words = ngettext("%d tune is taken in.", "%d tunes are taken in.", taken)
    messages.success(request, words % taken)
    return redirect("repertoire:one", there.repertoire_id) if there else None


def _preview(request: ShopRequest, intake: Intake) -> dict[str, Any]:
    asked = request.POST.get("page") or request.GET.get("page")
    page = Paginator(queries.tunes_found(intake), PAGE).get_page(asked)
    return {
        "page": page,
        "rows": [_told(each) for each in page],
        "wanted": queries.wanted(intake),
        "kept": FoundTune.KEPT,
        **_faults(intake.faults),
    }


def _told(tune: FoundTune) -> dict[str, Any]:
    return {
        "tune": tune,
        "range": span(tune.lowest, tune.highest),
        "begins": beginning(tune.music),
        "bars": bars_in(tune.music),
        "key": signature(tune.music),
    }


@never_cache
@require_safe
@needs(May.WISH)
def state(request: ShopRequest, key: int) -> HttpResponse:
    """Show how far reading is, for a page that asks again and again; at the end, renew the page."""
    intake = queries.intake_shown(key)
    if intake is None or intake.read_at is not None or intake.job is None or not intake.job.is_open:
        return HttpResponse(headers={"HX-Refresh": "true"})
    return render(request, "repertoire/_work.html", _reading(intake))


@require_POST
@needs(May.WISH)
def stop(request: ShopRequest, key: int) -> HttpResponse:
    """Have the reading of files stopped."""
    intake = queries.intake_shown(key)
    if intake is None:
        return _gone(request, intake_actions.Gone())
    if intake.job is not None:
        jobs.ask_to_stop(intake.job, request.user)
    return redirect("repertoire:intake", key)


@require_POST
@needs(May.WISH)
def again(request: ShopRequest, key: int) -> HttpResponse:
    """Have files read whose job came to nothing."""
    intake = queries.intake_shown(key)
    if intake is None:
        return _gone(request, intake_actions.Gone())
    if intake.read_at is None:
        intake_actions.read_later(intake, request.user)
    return redirect("repertoire:intake", key)


@require_POST
@needs(May.WISH)
def throw_away(request: ShopRequest, key: int) -> HttpResponse:
    """Throw files away that nobody wants; reading them stops."""
    intake = queries.intake_shown(key)
    try:
        intake_actions.throw_away(key)
    except intake_actions.Gone as error:
        return _gone(request, error)
    messages.success(request, _("The files are thrown away; no tune was taken in."))
    return (
        redirect("repertoire:one", intake.repertoire_id) if intake else redirect("repertoire:list")
    )
