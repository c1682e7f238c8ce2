"""The pages of the programs that hear of orders."""

from typing import Any, Final

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.api import calling, hook_actions
from combwright.shop.api.hook_forms import HookForm
from combwright.shop.api.hook_models import EVENTS, Call, Hook
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.refusals import Refused
from combwright.shop.people.roles import May

PAGE: Final = 50


@require_safe
@needs(May.CONNECT)
def hooks(request: ShopRequest) -> HttpResponse:
    """List the programs that hear of orders."""
    waiting = Count("calls", filter=Q(calls__state=Call.WAITING))
    given_up = Count("calls", filter=Q(calls__state=Call.GIVEN_UP))
    every = Hook.objects.select_related("made_by").order_by("-pk")
    every = every.annotate(waiting=waiting, given_up=given_up)
    page = Paginator(every, PAGE).get_page(request.GET.get("page"))
    return render(request, "api/hooks.html", {"page": page, "practice": settings.PRACTICE})


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.CONNECT)
def make_hook(request: ShopRequest) -> HttpResponse:
    """Have a program told; its secret is shown on the answer, and never again."""
    posted = request.method == "POST"
    form = HookForm(request.POST if posted else None, role=request.user.role)
    if form.is_valid():
        said: dict[str, Any] = form.cleaned_data
        try:
            made = hook_actions.make_hook(
                request.user, said["address"], said["events"], inside=said.get("inside", False)
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            return _shown_once(request, made)
    return render(request, "api/make_hook.html", {"form": form}, status=422 if posted else 200)


def _shown_once(request: ShopRequest, hook: Hook) -> HttpResponse:
    names = {"time": calling.TIME, "signature": calling.SIGNATURE, "name": calling.NAME}
    return render(request, "api/hook_once.html", {"hook": hook, "headers": names})


@require_safe
@needs(May.CONNECT)
def hook(request: ShopRequest, number: int) -> HttpResponse:
    """Show a program, and what became of the calls to it."""
    there = get_object_or_404(Hook.objects.select_related("made_by"), pk=number)
    page = Paginator(Call.objects.filter(hook=there), PAGE).get_page(request.GET.get("page"))
    heard = [words for name, (_state, words) in EVENTS.items() if name in there.events]
    context = {"hook": there, "heard": heard, "page": page, "practice": settings.PRACTICE}
    return render(request, "api/hook.html", context)


@never_cache
@require_POST
@needs(May.CONNECT)
def change_secret(request: ShopRequest, number: int) -> HttpResponse:
    """Give a program another secret, and show it, once."""
    there = get_object_or_404(Hook, pk=number)
    return _shown_once(request, hook_actions.change_secret(request.user, there))


@require_POST
@needs(May.CONNECT)
def test(request: ShopRequest, number: int) -> HttpResponse:
    """Call a program once, now."""
    there = get_object_or_404(Hook, pk=number)
    try:
        made = hook_actions.test(request.user, there)
    except Refused as error:
        messages.error(request, str(error))
    else:
        if made.state == Call.DONE:
            messages.success(request, _("It heard: it answered %d.") % (made.answered or 0))
        else:
            messages.error(request, _("It did not hear. %s") % made.error)
    return redirect("api:hook", number)


@require_POST
@needs(May.CONNECT)
def switch_off(request: ShopRequest, number: int) -> HttpResponse:
    """Call a program no more."""
    there = get_object_or_404(Hook, pk=number)
    hook_actions.switch_off(request.user, there)
    messages.success(request, _("%s is told nothing any more.") % there.host)
    return redirect("api:hooks")
