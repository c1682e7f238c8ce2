"""Bare plates heard on a jig: the plates of a sample, and bins sorted by pitch."""

from collections.abc import Sequence
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from combwright.shop.arrivals import actions as samples
from combwright.shop.arrivals import queries as sampled
from combwright.shop.arrivals.models import Inspection
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Bin
from combwright.shop.tuning import sorting
from combwright.shop.tuning.aims import Aim
from combwright.shop.tuning.forms import OnJigForm
from combwright.shop.tuning.live_views import lent, listening
from combwright.shop.tuning.models import Sorted
from combwright.shop.tuning.shifts import shifts

_SEMITONE_MC: Final = 100_000
_LATELY: Final = 20


def _aim(there: Bin, off_mc: int) -> Aim:
    return Aim(str(there.pk), there.code, there.midi, there.midi * _SEMITONE_MC + off_mc, 0)


@require_safe
@needs(May.INSPECT)
def sample(request: ShopRequest, number: int) -> HttpResponse:
    """Hear the plates of a sample; each reading goes to the bin whose note it is."""
    rows = Inspection.objects.select_related("batch")
    inspection = get_object_or_404(rows, pk=number)
    readings = sampled.readings_of(inspection)
    drawn = sampled.bin_rows(inspection, readings)
    there = [_aim(row.draw.bin, row.draw.expected) for row in drawn]
    lines = [
        (each.bin.code, each.cents, each.sd_mc / 1000 if each.sd_mc else None, each)
        for each in readings[:_LATELY]
    ]
    context = {
        "inspection": inspection,
        "progress": sampled.progress(inspection),
        "aims": [(aim, row) for aim, row in zip(there, drawn, strict=True)],
        "lines": lines,
        "shifts": shifts(),
        "any_mean": any(row.mean is not None and row.draw.after is None for row in drawn),
        **listening(there, tolerance=inspection.tolerance_cents),
    }
    return lent(render(request, "tuning/sample.html", context))


@require_POST
@needs(May.INSPECT)
def read(request: ShopRequest, number: int) -> HttpResponse:
    """Write down a plate of a sample, heard on the jig."""
    inspection = get_object_or_404(Inspection, pk=number)
    form, where = _on_jig(request)
    if form is None or where is None:
        return _refused(request, 422)
    draw = get_object_or_404(inspection.draws.select_related("bin"), bin=where)
    heard = form.heard()
    how = samples.How(heard.key, heard.sd_cents, heard.jig, heard.level_db, heard.temperature)
    # The page aims at what the bin's plates should be; the sample writes down cents off the note.
    cents = round(heard.cents + draw.expected_cents, 3)
    try:
        reading = samples.add_reading(inspection, draw.bin, request.user, cents=cents, how=how)
    except NotSo as error:
        return JsonResponse({"words": str(error)}, status=409)
    inspection.refresh_from_db()
    left = draw.plates - inspection.readings.filter(bin=draw.bin, struck_at=None).count()
    said: dict[str, Any] = {"id": reading.pk, "left": left}
    said["words"] = _("bad") if reading.bad else _("good")
    if not inspection.open:
        said["address"] = reverse("arrivals:one", args=[number])
    return JsonResponse(said, status=201)


@require_POST
@needs(May.INSPECT)
def take_means(request: ShopRequest, number: int) -> HttpResponse:
    """Take the means of a sample over as its bins' offsets, with the shift from jig to seat."""
    inspection = get_object_or_404(Inspection, pk=number)
    way = request.POST.get("condition", "")
    shift = next((each for each in shifts() if each.condition == way and each.enough), None)
    keys = [
        row.draw.bin_id
        for row in sampled.bin_rows(inspection, sampled.readings_of(inspection))
        if row.enough
    ]
    try:
        taken = samples.take_offsets(
            inspection, keys, request.user, shift_mc=shift.millicents if shift else 0
        )
    except NotSo as error:
        messages.error(request, str(error))
        return redirect("tuning:sample", number)
    text = ngettext("%d bin has its new offset.", "%d bins have their new offsets.", taken)
    messages.success(request, text % taken)
    return redirect("arrivals:one", number)


@require_safe
@needs(May.INSPECT)
def sort(request: ShopRequest, code: str) -> HttpResponse:
    """Hear the plates of a bin one after another, and lay each where its pitch belongs."""
    source = get_object_or_404(Bin.objects.select_related("batch"), code=code)
    there = [_aim(source, 0)]
    laid = Sorted.objects.filter(source=source).select_related("target", "by", "undone_by")
    step = request.GET.get("step", "")
    context = {
        "bin": source,
        "aims": [(aim, None) for aim in there],
        "steps": sorting.STEPS,
        "step": int(step) if step in map(str, sorting.STEPS) else sorting.STEPS[1],
        "laid": list(laid[:_LATELY]),
        "homes": _homes(source),
        **listening(there),
    }
    return lent(render(request, "tuning/sort.html", context))


def _homes(source: Bin) -> Sequence[Bin]:
    alike = Bin.objects.filter(
        midi=source.midi, slot_um=source.slot_um, mount=source.mount, batch_id=source.batch_id
    )
    return list(alike.order_by("millicents", "pk"))


@require_POST
@needs(May.INSPECT)
def lay(request: ShopRequest, code: str) -> HttpResponse:
    """Lay a plate that was heard where its pitch belongs."""
    source = get_object_or_404(Bin.objects.select_related("batch"), code=code)
    form, _where = _on_jig(request)
    if form is None:
        return _refused(request, 422)
    step = request.POST.get("step", "")
    try:
        laid = sorting.lay(
            request.user, source, form.heard(), step=int(step) if step.isdecimal() else 0
        )
    except NotSo as error:
        return JsonResponse({"words": str(error)}, status=409)
    source.refresh_from_db()
    words = _("lay it into %s") % laid.target.code
    return JsonResponse({"id": laid.pk, "words": words, "left": source.count}, status=201)


@require_POST
@needs(May.INSPECT)
def take_back(request: ShopRequest, key: int) -> HttpResponse:
    """Lay a plate back that was heard wrongly."""
    laid = get_object_or_404(Sorted.objects.select_related("source"), pk=key)
    try:
        sorting.take_back(request.user, laid)
    except NotSo as error:
        messages.error(request, str(error))
    return redirect("tuning:sort", laid.source.code)


def _on_jig(request: HttpRequest) -> tuple[OnJigForm | None, int | None]:
    form = OnJigForm(request.POST)
    if not form.is_valid():
        return None, None
    place = form.cleaned_data["place"]
    return form, int(place) if place.isdecimal() else None


def _refused(request: HttpRequest, status: int) -> JsonResponse:
    for where, words in OnJigForm(request.POST).errors.items():
        return JsonResponse({"words": f"{where}: {words[0]}"}, status=status)
    return JsonResponse({"words": _("place: no bin is named so")}, status=status)
