"""The end of an order: its papers, its parcel; or its undoing, with what goes where."""

from collections import Counter
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from combwright.errors import CombwrightError
from combwright.notes.names import note_text
from combwright.shop.bench import sending
from combwright.shop.bench.asked import told
from combwright.shop.bench.forms import CancelForm, SeenForm, SendForm
from combwright.shop.bench.homes import divided, pitch_of
from combwright.shop.bench.list_views import order_of
from combwright.shop.bench.slips import slip_pdf
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import STEPS, State
from combwright.shop.papers.label_views import pdf_answer
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.plans.models import Taken, TakenPart

form_page = require_http_methods(["GET", "HEAD", "POST"])


@form_page
@needs(May.SEND)
def send(request: ShopRequest, key: int) -> HttpResponse:
    """Show an order's papers; a POST sends it."""
    order = order_of(key)
    form = SendForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            sending.send(request.user, order, tracking=form.cleaned_data["tracking"])
        except CombwrightError as error:
            form.add_error(None, str(error))
        else:
            words = _("Order %s is sent.") % order.number
            return told(request, reverse("bench:send", args=[key]), words)
    context = {
        "order": order,
        "form": form,
        "instruments": order.instruments.filter(taken_apart_at=None).order_by("wish", "copy"),
        "can_send": order.state == State.BUILT,
        "is_sent": order.state == State.SENT,
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "bench/send.html", context, status=status)


@require_safe
@needs(May.LOOK)
def slip(request: ShopRequest, key: int) -> HttpResponse:
    """Give the packing slip."""
    order = order_of(key)
    try:
        pdf = slip_pdf(order)
    except CombwrightError as error:
        return told(request, reverse("bench:build", args=[key]), wrong=str(error))
    return pdf_answer(pdf, f"packing-slip-{order.pk}.pdf")


@form_page
@needs(May.ORDER)
def cancel(request: ShopRequest, key: int) -> HttpResponse:
    """Say what goes where if an order is cancelled; a POST with a reason cancels it."""
    order = order_of(key)
    posted = request.POST if request.method == "POST" else None
    form = CancelForm(posted, initial={"seen": order.version})
    can = State.CANCELLED in STEPS[State(order.state)]
    if form.is_valid():
        said = form.cleaned_data
        try:
            sending.cancel(request.user, order, because=said["because"], seen=said["seen"])
        except CombwrightError as error:
            form.add_error(None, str(error))
        else:
            words = _("Order %s is cancelled; everything it held is given back.") % order.number
            return told(request, reverse("orders:one", args=[order.number]), words)
    context = {"order": order, "form": form, "can": can, **_what_goes_where(order)}
    return render(request, "bench/cancel.html", context, status=422 if posted is not None else 200)


@form_page
@needs(May.BUILD)
def take_apart(request: ShopRequest, key: int) -> HttpResponse:
    """Say what goes where if an order is taken off the bench; a POST does so."""
    order = order_of(key)
    posted = request.POST if request.method == "POST" else None
    form = SeenForm(posted, initial={"seen": order.version})
    if form.is_valid():
        try:
            sending.take_apart(request.user, order, seen=form.cleaned_data["seen"])
        except CombwrightError as error:
            form.add_error(None, str(error))
        else:
            words = _("Order %s is taken apart and waits for the next plan.") % order.number
            return told(request, reverse("bench:list"), words)
    context = {
        "order": order, "form": form, "can": order.state == State.BENCH, **_what_goes_where(order)
    }  # fmt: skip
    status = 422 if posted is not None else 200
    return render(request, "bench/take_apart.html", context, status=status)


def _what_goes_where(order: Order) -> dict[str, Any]:
    """Return what an order gives back, and to which bins."""
    rows = Taken.objects.filter(order=order).exclude(state=Taken.GONE)
    taken = list(rows.select_related("bin__batch"))
    worked = sending.coming_back(order, was_built=order.state == State.BUILT)
    keys = {each.pk for each, _pitch in worked}
    back = Counter(
        each.bin.code for each in taken if each.state == Taken.PICKED and each.pk not in keys
    )
    filed: Counter[tuple[str, str]] = Counter()
    for each, pitch in worked:
        midi, cents = divided(pitch)
        if pitch == pitch_of(each.bin):
            back[each.bin.code] += 1
        else:
            filed[each.bin.code, note_text(midi, cents / 1000)] += 1
    parts = TakenPart.objects.filter(order=order).select_related("item").order_by("item__code")
    return {
        "free": sum(each.state == Taken.ASIDE for each in taken),
        "back": sorted(back.items()),
        "filed": sorted(filed.items()),
        "parts": [(each.item.code, each.count, each.used) for each in parts],
        "apart": order.instruments.filter(taken_apart_at=None).count(),
    }
