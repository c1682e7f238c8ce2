"""Microphones: their names, the level of an ordinary breath, and their clocks."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack.actions import NotSo
from combwright.shop.tuning import actions
from combwright.shop.tuning.clocks import clock_of
from combwright.shop.tuning.forms import BreathForm, NameForm, ToneForm
from combwright.shop.tuning.live_views import lent, listening
from combwright.shop.tuning.models import Microphone

form_page = require_http_methods(["GET", "HEAD", "POST"])


@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.TUNE)
def listed(request: ShopRequest) -> HttpResponse:
    """List the microphones; a POST names a new one."""
    form = NameForm(request.POST or None)
    if form.is_valid():
        try:
            made = actions.name_microphone(request.user, form.cleaned_data["name"].strip())
            return redirect("tuning:microphone", made.pk)
        except NotSo as error:
            form.add_error("name", str(error))
    rows = [(each, clock_of(each)) for each in Microphone.objects.select_related("calibrated_by")]
    status = 422 if form.errors else 200
    return render(request, "tuning/microphones.html", {"form": form, "rows": rows}, status=status)


@require_safe
@needs(May.TUNE)
def one(request: ShopRequest, key: int) -> HttpResponse:
    """Show a microphone; set its breath and its clock."""
    return _shown(request, get_object_or_404(Microphone, pk=key))


@require_POST
@needs(May.TUNE)
def breath(request: ShopRequest, key: int) -> HttpResponse:
    """Set the levels of an ordinary breath."""
    there, form = get_object_or_404(Microphone, pk=key), BreathForm(request.POST)
    if form.is_valid():
        try:
            actions.set_breath(there, form.cleaned_data["low"], form.cleaned_data["high"])
        except NotSo as error:
            form.add_error("low", str(error))
        else:
            messages.success(request, _("The breath of %s is set.") % there)
            return redirect("tuning:microphone", key)
    return _shown(request, there, breath=form)


@require_POST
@needs(May.TUNE)
def tone(request: ShopRequest, key: int) -> HttpResponse:
    """Set the clock by a known tone, or forget it."""
    there = get_object_or_404(Microphone, pk=key)
    if request.POST.get("forget"):
        actions.forget_clock(there)
        messages.success(request, _("The clock of %s counts as unknown again.") % there)
        return redirect("tuning:microphone", key)
    form = ToneForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        try:
            actions.calibrate(
                request.user, there, tone_hz=given["tone"], heard_hz=given["heard"],
                sd_cents=given["sd"],
            )  # fmt: skip
        except NotSo as error:
            form.add_error("tone", str(error))
        else:
            messages.success(request, _("The clock of %s is set.") % there)
            return redirect("tuning:microphone", key)
    return _shown(request, there, tone=form)


def _shown(
    request: ShopRequest,
    there: Microphone,
    *,
    breath: BreathForm | None = None,
    tone: ToneForm | None = None,
) -> HttpResponse:
    start = {"low": there.low_db, "high": there.high_db}
    context = {
        "microphone": there,
        "clock": clock_of(there),
        "breath": breath or BreathForm(initial=start),
        "tone": tone or ToneForm(initial={"tone": there.tone_hz}),
        **listening([]),
    }
    status = 422 if (breath or tone) else 200
    return lent(render(request, "tuning/microphone.html", context, status=status))
