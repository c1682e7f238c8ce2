"""A tune as tab: the page, the staff's picture, and files to take away."""

from dataclasses import dataclass
from typing import Any, Final

from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.utils.cache import patch_cache_control
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from combwright.notes.keys import ORDINARY_KEYS
from combwright.playing.costs import PlayingCosts
from combwright.playing.documents import tab_document, tab_lines
from combwright.playing.tabbing import Tab, tab_text
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.repertoire import queries, staves, tabs
from combwright.shop.repertoire.models import Melody
from combwright.shop.repertoire.rows import tune_of
from combwright.shop.repertoire.tab_forms import Asked, TabForm, asked_in

_UNIT: Final = 100
#: A tune's music never changes, so its picture may be kept by the browser for an hour.
_KEPT_SECONDS: Final = 3_600


@dataclass(frozen=True, slots=True)
class Answer:
    """How a tune is played, under which costs, on what was asked."""

    tab: Tab
    costs: PlayingCosts
    asked: Asked


@dataclass(frozen=True, slots=True)
class Asking:
    """A tune, what is asked about it, and the answer; None where the question has a fault."""

    melody: Melody
    form: TabForm
    answer: Answer | None


def _asking(request: ShopRequest, key: int) -> Asking:
    rows = Melody.objects.select_related("repertoire__customer")
    melody = get_object_or_404(rows, pk=key)
    form = TabForm(asked_in(request.GET.dict()))
    if not form.is_valid():
        return Asking(melody, form, None)
    try:
        tune = tune_of(melody.music, melody.title)
        found, costs = tabs.work_out(tune, form.asked, form.instrument)
    except tabs.TooLong as error:
        form.add_error("shift", str(error))
        return Asking(melody, form, None)
    return Asking(melody, form, Answer(found, costs, form.asked))


def _worked_out(request: ShopRequest, key: int) -> Answer:
    """Return the answer for a file, which has no place to say what is wrong with the question."""
    asking = _asking(request, key)
    if asking.answer is None:
        raise Http404(_("The address asks for what is no instrument; ask on the tune's page."))
    return asking.answer


@require_safe
@needs(May.LOOK)
def tab(request: ShopRequest, key: int) -> HttpResponse:
    """Show how a tune is played on an instrument."""
    asking = _asking(request, key)
    melody = asking.melody
    before, after = queries.neighbours(melody)
    context: dict[str, Any] = {
        "melody": melody,
        "repertoire": melody.repertoire,
        "form": asking.form,
        "keys": ORDINARY_KEYS,
        "before": before,
        "after": after,
    }
    if asking.answer is not None:
        found, costs = asking.answer.tab, asking.answer.costs
        context |= {
            "tab": found,
            "query": asking.answer.asked.address,
            "up": max(found.shift, 0),
            "down": max(-found.shift, 0),
            "cells": tabs.cells(found),
            "left": max(0, len(found.ways) - tabs.MOST_CELLS),
            "hard": tabs.hard_notes(found),
            "made_of": tabs.parts(found, costs),
            "cost": found.cost / _UNIT,
            "text": tab_text(found),
            "engraved": staves.is_engraved(found),
        }
    return render(request, "repertoire/tab.html", context, status=200 if asking.answer else 422)


@require_safe
@needs(May.LOOK)
def staff(request: ShopRequest, key: int) -> HttpResponse:
    """Give the picture of a tune's staff with its tab."""
    found = _engraved(request, key).tab
    svg = staves.staff_svg(found, narrow=request.GET.get("narrow") == "yes")
    answer = HttpResponse(svg, content_type="image/svg+xml")
    patch_cache_control(answer, private=True, max_age=_KEPT_SECONDS)
    return answer


def _engraved(request: ShopRequest, key: int) -> Answer:
    answer = _worked_out(request, key)
    if not staves.is_engraved(answer.tab):
        raise Http404(
            _("This tune is too long to be engraved at once; make a book of its repertoire.")
        )
    return answer


@require_safe
@needs(May.LOOK)
def tab_txt(request: ShopRequest, key: int) -> HttpResponse:
    """Give a tab as text, as the command line writes it."""
    said = _worked_out(request, key)
    text = "\n".join(tab_lines([said.tab], said.costs)) + "\n"
    return _file(HttpResponse(text, content_type="text/plain; charset=utf-8"), key, "txt")


@require_safe
@needs(May.LOOK)
def tab_json(request: ShopRequest, key: int) -> HttpResponse:
    """Give a tab as the document that the command line gives."""
    said = _worked_out(request, key)
    shape = {"ensure_ascii": False, "indent": 1}
    return _file(
        JsonResponse(tab_document([said.tab], said.costs), json_dumps_params=shape), key, "json"
    )


@require_safe
@needs(May.LOOK)
def tab_pdf(request: ShopRequest, key: int) -> HttpResponse:
    """Give a tab as a PDF."""
    said = _engraved(request, key)
    pdf = staves.tabs_pdf([said.tab], said.costs, said.asked)
    return _file(HttpResponse(pdf, content_type="application/pdf"), key, "pdf")


def _file(answer: HttpResponse, key: int, ending: str) -> HttpResponse:
    answer["Content-Disposition"] = f'attachment; filename="tab-{key}.{ending}"'
    return answer
