"""The pages of measured samples: read the request, call one action, show the answer."""

from math import ceil, floor
from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.arrivals import actions, curves, queries
from combwright.shop.arrivals.forms import PlanForm, ReadingForm
from combwright.shop.arrivals.models import Inspection, Reading
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Bin
from combwright.shop.rack.queries import batches

PAGE: Final = 50
#: Common practice, no source: what a shop may begin with.
USUAL: Final = {
    "tolerance": 10, "way": Inspection.COMPUTED, "good": 2, "bad": 15, "producer": 5,
    "consumer": 10, "share": "2.5",
}  # fmt: skip
form_page = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@needs(May.LOOK)
def all_samples(request: ShopRequest) -> HttpResponse:
    """List the measured samples, of one batch if it is named."""
    batch = request.GET.get("batch", "")
    page = Paginator(queries.inspections(batch), PAGE).get_page(request.GET.get("page"))
    return render(request, "arrivals/list.html", {"page": page, "batch": batch})


@form_page
@needs(May.INSPECT)
def start(request: ShopRequest, code: str) -> HttpResponse:
    """Choose how many plates of a batch to measure; a POST draws the sample."""
    batch = get_object_or_404(batches(), code=code)
    first = {**USUAL, "lot": batch.plates or 0}  # type: ignore[attr-defined]
    given = request.POST if request.method == "POST" else request.GET or None
    form = PlanForm(given, initial=first)
    if form.is_valid() and request.method == "POST":
        try:
            made = actions.start(request.user, batch, form.chosen, note=form.cleaned_data["note"])
        except NotSo as error:
            form.add_error(None, str(error))
        else:
            return redirect("arrivals:one", made.pk)
    context: dict[str, Any] = {"batch": batch, "form": form}
    if hasattr(form, "chosen"):
        context |= _told(form.chosen)
    wrong = request.method == "POST" or (form.is_bound and not form.is_valid())
    return render(request, "arrivals/start.html", context, status=422 if wrong else 200)


def _told(chosen: actions.Chosen) -> dict[str, Any]:
    """Say a plan's chances in a sentence, a picture and a table."""
    plan = chosen.plan
    good = floor(plan.lot * chosen.good_percent / 100)
    spots = [good]
    told: dict[str, Any] = {
        "chosen": chosen,
        "good_percent": chosen.good_percent,
        "good_chance": 100 * plan.chance(good),
    }
    if chosen.bad_percent is not None:
        bad = ceil(plan.lot * chosen.bad_percent / 100)
        spots.append(bad)
        told |= {"bad_percent": chosen.bad_percent, "bad_chance": 100 * plan.chance(bad)}
    return told | {"curve": curves.drawn_curve(plan, spots), "chances": curves.rows(plan)}


def _inspection(number: int) -> Inspection:
    rows = Inspection.objects.select_related("batch", "made_by", "decided_by")
    return get_object_or_404(rows, pk=number)


@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, number: int) -> HttpResponse:
    """Show a sample: which plate is next, what was measured, and what it says."""
    return _shown(request, _inspection(number))


def _shown(
    request: ShopRequest,
    inspection: Inspection,
    form: ReadingForm | None = None,
    refused: str = "",
) -> HttpResponse:
    readings = queries.readings_of(inspection)
    rows = queries.bin_rows(inspection, readings)
    wanted = request.GET.get("bin", "") or (str(form["bin"].value()) if form else "")
    waiting = [row for row in rows if row.left > 0]
    here = next((row for row in waiting if str(row.draw.bin_id) == wanted), None)
    here = here or (waiting[0] if waiting else None)
    context = {
        "inspection": inspection,
        "progress": queries.progress(inspection),
        "rows": rows,
        "readings": readings,
        "here": here,
        "form": form or ReadingForm(initial={"bin": here.draw.bin_id if here else None}),
        "refused": refused,
        "any_mean": any(row.mean is not None and row.draw.after is None for row in rows),
        **_told(_as_chosen(inspection)),
    }
    status = 422 if form else 409 if refused else 200
    return render(request, "arrivals/one.html", context, status=status)


def _as_chosen(inspection: Inspection) -> actions.Chosen:
    return actions.Chosen(
        inspection.plan, inspection.tolerance, inspection.good_percent, inspection.bad_percent,
        inspection.producer_percent, inspection.consumer_percent, inspection.letter,
    )  # fmt: skip


@require_POST
@needs(May.INSPECT)
def read(request: ShopRequest, number: int) -> HttpResponse:
    """Write down one reading; it is saved at once."""
    inspection = _inspection(number)
    form = ReadingForm(request.POST)
    if not form.is_valid():
        return _shown(request, inspection, form)
    said = form.cleaned_data
    plate_bin = get_object_or_404(Bin, pk=said["bin"])
    try:
        actions.add_reading(
            inspection, plate_bin, request.user,
            cents=said["cents"], broken=said["what"] == "broken",
        )  # fmt: skip
    except actions.Decided as error:
        messages.warning(request, str(error))
    except NotSo as error:
        form.add_error(None, str(error))
        return _shown(request, inspection, form)
    return redirect("arrivals:one", number)


@require_POST
@needs(May.INSPECT)
def strike(request: ShopRequest, number: int) -> HttpResponse:
    """Strike out a reading that was mistyped."""
    key = request.POST.get("reading", "")
    reading = get_object_or_404(
        Reading.objects.select_related("inspection"),
        inspection_id=number,
        pk=int(key) if key.isdecimal() and len(key) < 18 else 0,
    )
    try:
        actions.strike(reading, request.user)
    except NotSo as error:
        messages.warning(request, str(error))
    return redirect("arrivals:one", number)


@require_POST
@needs(May.INSPECT)
def give_up(request: ShopRequest, number: int) -> HttpResponse:
    """End a sample without a verdict."""
    try:
        actions.give_up(_inspection(number), request.user)
    except NotSo as error:
        messages.warning(request, str(error))
    return redirect("arrivals:one", number)


@require_POST
@needs(May.INSPECT)
def offsets(request: ShopRequest, number: int) -> HttpResponse:
    """Take the ticked bins' means over as their measured offsets."""
    keys = [int(key) for key in request.POST.getlist("bin") if key.isdecimal() and len(key) < 18]
    inspection = _inspection(number)
    try:
        taken = actions.take_offsets(inspection, keys, request.user)
    except NotSo as error:
        return _shown(request, inspection, refused=str(error))
    text = ngettext("%d bin has its new offset.", "%d bins have their new offsets.", taken)
    messages.success(request, text % taken)
    return redirect("arrivals:one", number)
