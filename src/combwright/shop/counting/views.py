"""The pages of counting: read the request, call one action, show the answer."""

from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.counting import actions, queries
from combwright.shop.counting.forms import FoundForm, StartForm
from combwright.shop.counting.models import Ask, Round
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack.actions import NotSo

PAGE: Final = 50
form_page = require_http_methods(["GET", "HEAD", "POST"])


def _status(request: HttpRequest) -> int:
    return 422 if request.method == "POST" else 200


def _round(number: int) -> Round:
    rounds = Round.objects.select_related("made_by", "closed_by", "entry")
    return get_object_or_404(rounds, pk=number)


@form_page
@needs(May.COUNT)
def rounds(request: ShopRequest) -> HttpResponse:
    """List the rounds; a POST starts one."""
    form = StartForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        said = form.cleaned_data
        try:
            made = actions.start(request.user, said["most"], form.scope(), note=said["note"])
        except NotSo as error:
            form.add_error(None, str(error))
        else:
            return redirect("counting:round", made.pk)
    all_rounds = Round.objects.select_related("made_by")
    page = Paginator(all_rounds, PAGE).get_page(request.GET.get("page"))
    far = queries.progress(list(page))
    context = {"form": form, "page": page, "rows": [(each, far.get(each.pk)) for each in page]}
    return render(request, "counting/rounds.html", context, status=_status(request))


@require_safe
@needs(May.COUNT)
def one(request: ShopRequest, number: int) -> HttpResponse:
    """Show a round: how far it is, its bins, and what differs."""
    return _shown(request, _round(number))


def _shown(request: ShopRequest, round_: Round, refused: str = "") -> HttpResponse:
    asks = queries.asks_of(round_)
    context = {
        "round": round_,
        "asks": asks,
        "progress": queries.progress([round_]).get(round_.pk),
        "differing": [ask for ask in asks if ask.difference],
        "refused": refused,
    }
    return render(request, "counting/round.html", context, status=409 if refused else 200)


@require_safe
@needs(May.COUNT)
def sheet(request: ShopRequest, number: int) -> HttpResponse:
    """Show a round as a sheet to be filled in by hand."""
    round_ = _round(number)
    context = {"round": round_, "asks": queries.asks_of(round_)}
    return render(request, "counting/sheet.html", context)


@require_safe
@needs(May.COUNT)
def next_bin(request: ShopRequest, number: int) -> HttpResponse:
    """Go to the next bin to count; when none is left, to the round."""
    round_ = _round(number)
    after = request.GET.get("after", "")
    ask = queries.next_ask(round_, int(after) if after.isdecimal() and len(after) < 9 else 0)
    if ask is None or not round_.open:
        return redirect("counting:round", number)
    return redirect("counting:bin", number, ask.place)


def _ask(number: int, place: int) -> Ask:
    asks = Ask.objects.select_related("round", "bin__batch", "counted_by")
    return get_object_or_404(asks, round_id=number, place=place)


@form_page
@needs(May.COUNT)
def one_bin(request: ShopRequest, number: int, place: int) -> HttpResponse:
    """Count one bin. What the ledger says is shown only after a number was typed."""
    ask = _ask(number, place)
    form = FoundForm(request.POST if request.method == "POST" else None, initial=_known(ask))
    context: dict[str, Any] = {}
    if form.is_valid():
        said = form.cleaned_data
        try:
            counted = actions.count(
                request.user, ask, said["found"],
                seen=said["seen"], line_seen=said["line"], sure=said["sure"],
            )  # fmt: skip
        except (actions.CountedMeanwhile, actions.MovedMeanwhile) as error:
            ask = _ask(number, place)
            context |= {"meanwhile": error, "found": said["found"], "fresh": _known(ask)}
        except actions.RoundClosed as error:
            messages.warning(request, str(error))
            return redirect("counting:round", number)
        else:
            return _on(request, counted)
    context |= {"ask": ask, "round": ask.round, "form": form}
    context["progress"] = queries.progress([ask.round])[number]
    status = 409 if "meanwhile" in context else _status(request)
    return render(request, "counting/bin.html", context, status=status)


def _known(ask: Ask) -> dict[str, Any]:
    return {"seen": ask.state, "line": queries.newest_line(ask.bin_id)}


def _on(request: ShopRequest, ask: Ask) -> HttpResponse:
    """Go on to the next bin when the count agrees, else show the difference."""
    if ask.difference:
        return redirect("counting:bin", ask.round_id, ask.place)
    messages.success(request, _("Bin %(bin)s agrees.") % {"bin": ask.bin.code})
    return _to_next(ask)


def _to_next(ask: Ask) -> HttpResponse:
    return redirect(reverse("counting:next", args=[ask.round_id], query={"after": ask.place}))


@require_POST
@needs(May.COUNT)
def skip(request: ShopRequest, number: int, place: int) -> HttpResponse:
    """Leave a bin for later."""
    ask = _ask(number, place)
    try:
        actions.skip(ask)
    except actions.RoundClosed as error:
        messages.warning(request, str(error))
    return _to_next(ask)


@require_POST
@needs(May.COUNT)
def unskip(request: ShopRequest, number: int) -> HttpResponse:
    """Go through the skipped bins."""
    try:
        actions.unskip(_round(number))
    except actions.RoundClosed as error:
        messages.warning(request, str(error))
    return redirect("counting:next", number)


@require_POST
@needs(May.BOOK)
def book(request: ShopRequest, number: int) -> HttpResponse:
    """Book what was found."""
    round_ = _round(number)
    try:
        entry = actions.book(request.user, round_)
    except NotSo as error:
        return _shown(request, _round(number), str(error))
    messages.success(request, _("The round is booked as entry %d.") % entry.pk)
    return redirect("counting:round", number)


@require_POST
@needs(May.BOOK)
def give_up(request: ShopRequest, number: int) -> HttpResponse:
    """End a round without booking."""
    try:
        actions.give_up(request.user, _round(number))
    except NotSo as error:
        return _shown(request, _round(number), str(error))
    messages.success(request, _("The round is given up; nothing is booked."))
    return redirect("counting:round", number)


@require_POST
@needs(May.BOOK)
def again(request: ShopRequest, number: int) -> HttpResponse:
    """Have the ticked bins counted again."""
    ticked = [int(key) for key in request.POST.getlist("bin") if key.isdecimal() and len(key) < 18]
    round_ = _round(number)
    try:
        asked = actions.ask_again(round_, ticked)
    except NotSo as error:
        return _shown(request, round_, str(error))
    messages.success(
        request,
        ngettext("%d bin is to be counted again.", "%d bins are to be counted again.", asked)
        % asked,
    )
    return redirect("counting:round", number)
