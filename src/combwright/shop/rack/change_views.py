"""Changing a bin's own facts, and holding a single bin."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack import change_actions
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.change_forms import BinChangeForm
from combwright.shop.rack.forms import HoldForm
from combwright.shop.rack.item_views import form_page, posted, status_of
from combwright.shop.rack.models import Bin


def _bin(code: str) -> Bin:
    return get_object_or_404(Bin.objects.select_related("batch"), code=code)


@form_page
@needs(May.ARRANGE)
def change_bin(request: ShopRequest, code: str) -> HttpResponse:
    """Change what a bin says of itself; its count is the ledger's."""
    plate_bin = _bin(code)
    form = BinChangeForm(posted(request), holder=plate_bin)
    if form.is_valid():
        try:
            done = change_actions.change_bin(
                request.user, plate_bin, form.facts(), note=form.cleaned_data["why"]
            )
        except NotSo as error:
            form.add_error(None, str(error))
        else:
            said = _("The bin is changed.") if done else _("Nothing was to be changed.")
            messages.success(request, said)
            return redirect("rack:bin", code)
    context = {"bin": plate_bin, "form": form, "title": _("Change the bin"), "danger": False}
    return render(request, "rack/change.html", context, status=status_of(request))


@form_page
@needs(May.HOLD)
def hold_bin(request: ShopRequest, code: str) -> HttpResponse:
    """Hold one bin, with a reason, or release it."""
    plate_bin = _bin(code)
    if request.method == "POST" and "release" in request.POST:
        change_actions.release(request.user, plate_bin)
        messages.success(request, _("Bin %(bin)s is released.") % {"bin": code})
        return redirect("rack:bin", code)
    form = HoldForm(posted(request))
    if form.is_valid():
        change_actions.hold_bin(request.user, plate_bin, form.cleaned_data["because"])
        messages.success(request, _("Bin %(bin)s is held.") % {"bin": code})
        return redirect("rack:bin", code)
    context = {"bin": plate_bin, "form": form, "title": _("Hold the bin"), "danger": False}
    return render(request, "rack/change.html", context, status=status_of(request))
