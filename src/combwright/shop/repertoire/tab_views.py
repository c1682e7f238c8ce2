"""A tune as tab: the page, the staff's picture, and files to take away."""

from dataclasses import dataclass
from typing import Any, Final

from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
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
from combwright.shop.repertoire.tab_forms import TabForm, asked_in

_UNIT: Final = 100


@dataclass(frozen=True, slots=True)
class Asking:
    """A tune, what is asked about it, and the answer; None where the question has a fault."""

    melody: Melody
    form: TabForm
    answer: tuple[Tab, PlayingCosts] | None


def _asking(request: ShopRequest, key: int) -> Asking:
    rows = Melody.objects.select_related("repertoire__customer")
    melody = get_object_or_404(rows, pk=key)
    form = TabForm(asked_in(request.GET.dict()))
    if not form.is_valid():
        return Asking(melody, form, None)
    try:
        tune = tune_of(melody.music, melody.title)
        return Asking(melody, form, tabs.work_out(tune, form.asked, form.instrument))
    except tabs.TooLong as error:
        form.add_error("shift", str(error))
        return Asking(melody, form, None)


def _worked_out(request: ShopRequest, key: int) -> tuple[Tab, PlayingCosts]:
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
        found, costs = asking.answer
        context |= {
            "tab": found,
            "query": asking.form.asked.address,
            "up": max(found.shift, 0),
            "down": max(-found.shift, 0),
            "cells": tabs.cells(found),
            "left": max(0, len(found.ways) - tabs.MOST_CELLS),
            "hard": tabs.hard_notes(found),
            "made_of": tabs.parts(found, costs),
            "cost": found.cost / _UNIT,
            "text": tab_text(found),
            "engraved": staves.ENGRAVED,
        }
    return render(request, "repertoire/tab.html", context, status=200 if asking.answer else 422)


@require_safe
@needs(May.LOOK)
def staff(request: ShopRequest, key: int) -> HttpResponse:
    """Give the picture of a tune's staff with its tab."""
    found, _costs = _worked_out(request, key)
    svg = staves.staff_svg(found)
    if svg is None:
        raise Http404(_("This tune cannot be engraved."))
    return HttpResponse(svg, content_type="image/svg+xml")


@require_safe
@needs(May.LOOK)
def tab_txt(request: ShopRequest, key: int) -> HttpResponse:
    """Give a tab as text, as the command line writes it."""
    text = "\n".join(tab_lines([(answer := _worked_out(request, key))[0]], answer[1])) + "\n"
    return _file(HttpResponse(text, content_type="text/plain; charset=utf-8"), key, "txt")


@require_safe
@needs(May.LOOK)
def tab_json(request: ShopRequest, key: int) -> HttpResponse:
    """Give a tab as the document that the command line gives."""
    found, costs = _worked_out(request, key)
    shape = {"ensure_ascii": False, "indent": 1}
    return _file(JsonResponse(tab_document([found], costs), json_dumps_params=shape), key, "json")


@require_safe
@needs(May.LOOK)
def tab_pdf(request: ShopRequest, key: int) -> HttpResponse:
    """Give a tab as a PDF."""
    found, _costs = _worked_out(request, key)
    pdf = HttpResponse(staves.tabs_pdf([found]), content_type="application/pdf")
    return _file(pdf, key, "pdf")


def _file(answer: HttpResponse, key: int, ending: str) -> HttpResponse:
    answer["Content-Disposition"] = f'attachment; filename="tab-{key}.{ending}"'
    return answer
