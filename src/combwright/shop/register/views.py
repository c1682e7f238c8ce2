"""The register's pages."""

from typing import Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.figures import signed
from combwright.shop.look.stretches import stretch
from combwright.shop.orders.drawn_comb import drawn_comb
from combwright.shop.papers.label_views import pdf_answer
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack.models import Batch
from combwright.shop.register import papers, queries, readings
from combwright.shop.register.forms import FindForm
from combwright.shop.register.models import Instrument

PAGE: Final = 50


@require_safe
@needs(May.LOOK)
def listed(request: ShopRequest) -> HttpResponse:
    """List the instruments that a search finds."""
    form = FindForm(request.GET)
    text = form.cleaned_data["text"].strip() if form.is_valid() else ""
    page = Paginator(queries.instruments_found(text), PAGE).get_page(request.GET.get("page"))
    return render(request, "register/list.html", {"form": form, "page": page, "text": text})


def _instrument(serial: str) -> Instrument:
    rows = Instrument.objects.select_related("order__customer", "wish", "made_by")
    return get_object_or_404(rows, serial=serial)


@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, serial: str) -> HttpResponse:
    """Show an instrument, the plates it holds, and what has happened to it."""
    instrument = _instrument(serial)
    held = queries.plates_held(instrument)
    comb = papers.comb_of(instrument, held)
    plates = [papers.drawn(each) for each in held]
    heard = readings.certified(instrument)
    context = {
        "instrument": instrument,
        "order": instrument.order,
        "heard": bool(heard),
        "held": [
            (
                each,
                plate,
                signed(each.taken.retune_mc / 1000) if each.taken.way != "none" else "",
                heard.get((papers.place_of(each), each.taken_id)),
            )
            for each, plate in zip(held, plates, strict=True)
        ],
        "gone": queries.plates_gone(instrument),
        "drawing": drawn_comb(comb, plates, title=instrument.title) if held else "",
    }
    return render(request, "register/one.html", context)


@require_safe
@needs(May.LOOK)
def certificate(request: ShopRequest, serial: str) -> HttpResponse:
    """Give an instrument's certificate."""
    instrument = _instrument(serial)
    try:
        pdf = papers.certificate_of(instrument)
    except BadSheet as error:
        messages.error(request, str(error))
        return redirect("register:one", serial)
    return pdf_answer(pdf, f"certificate-{instrument.pk}.pdf")


@require_safe
@needs(May.LOOK)
def batch(request: ShopRequest, code: str) -> HttpResponse:
    """List the instruments with plates of a batch."""
    found = get_object_or_404(Batch, code=code)
    rows = queries.instruments_of_batch(found)
    page = stretch(rows, request.GET, PAGE)
    return render(request, "register/batch.html", {"batch": found, "page": page})
