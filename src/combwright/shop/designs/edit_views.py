"""Combs, layouts and the workshop's numbers in forms."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import Any, Final

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from combwright.comb.default_comb import default_comb
from combwright.shop.designs import actions, comb_form, layout_form, queries, workshop_form
from combwright.shop.designs.comb_form import CombForm
from combwright.shop.designs.forms import HolesForm
from combwright.shop.designs.layout_form import LayoutForm
from combwright.shop.designs.models import Design, DesignVersion
from combwright.shop.designs.places import address
from combwright.shop.designs.texts import Value, parse, read, written
from combwright.shop.designs.views import about, known_or_404
from combwright.shop.designs.workshop_form import WorkshopForm
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May

form_page = require_http_methods(["GET", "HEAD", "POST"])


@dataclass(frozen=True, slots=True)
class Sort:
    """How designs of a kind are filled in."""

    form: type[HolesForm]
    filled_with: Callable[[Any], Mapping[str, Any]]
    value: Callable[[Any], Value]
    template: str


_SORTS: Final = MappingProxyType(
    {
        Design.COMB: Sort(CombForm, comb_form.filled_with, CombForm.comb, "designs/comb_edit.html"),
        Design.LAYOUT: Sort(
            LayoutForm, layout_form.filled_with, LayoutForm.layout, "designs/layout_edit.html"
        ),
    }
)


@form_page
@needs(May.DESIGN)
def new(request: ShopRequest, kind: str) -> HttpResponse:
    """Make a comb or a layout from a copy of one there is; it is called otherwise."""
    sort = _SORTS[kind]
    source = request.GET.get("from") or ("standard" if kind == Design.LAYOUT else "")
    original = known_or_404(kind, source) if source else default_comb()
    form = _form_of(request, sort, {**sort.filled_with(original), "title": ""}, new=True)
    if request.method == "POST" and form.is_valid():
        said = read(kind, written(sort.value(form)), name=_("form"))
        try:
            made = actions.make(
                request.user, kind, said, what=DesignVersion.MADE, code=form.cleaned_data["code"]
            )
        except actions.NameTaken as error:
            form.add_error(error.field, str(error))
        else:
            messages.success(request, _("%s is made.") % made.title)
            return redirect(address(kind, made.code))
    context = {"kind": kind, "form": form, "original": original}
    return render(request, sort.template, context, status=_status(request))


@form_page
@needs(May.DESIGN)
def edit(request: ShopRequest, kind: str, code: str) -> HttpResponse:
    """Change a comb or a layout of the shop's own; every save is a new version."""
    sort = _SORTS[kind]
    design = get_object_or_404(Design, kind=kind, code=queries.tidy_code(code))
    value = parse(kind, design.toml, name=f"{code}.toml").value
    form = _form_of(request, sort, sort.filled_with(value))
    saving = Saving(request, design.version)
    if request.method == "POST" and form.is_valid():
        said = read(kind, written(sort.value(form)), name=_("form"))
        act = partial(
            actions.save,
            request.user,
            design,
            saving.seen,
            said,
            agreed=request.POST.get("agreed", ""),
        )  # fmt: skip
        if saving.done(form, act, design.version):
            return redirect(address(kind, design.code))
    context = {
        **about(kind, code), "form": form, "saving": saving,
        "loses_comments": design.toml != written(value),
    }  # fmt: skip
    return render(request, sort.template, context, status=_status(request))


@form_page
@needs(May.DESIGN)
def edit_workshop(request: ShopRequest) -> HttpResponse:
    """Change the workshop's numbers; every save is a new version."""
    design = queries.own(Design.WORKSHOP, queries.WORKSHOP)
    value = queries.workshop()
    form = WorkshopForm(
        request.POST if request.method == "POST" else None,
        initial=workshop_form.filled_with(value),
    )
    version = design.version if design else 0
    saving = Saving(request, version)
    if request.method == "POST" and form.is_valid():
        said = read(Design.WORKSHOP, written(form.workshop()), name=_("form"))
        act = partial(
            actions.save_workshop, request.user, saving.seen, said, what=DesignVersion.EDITED
        )
        if saving.done(form, act, version):
            for warning in said.warnings:
                messages.warning(request, warning)
            return redirect("designs:workshop")
    context = {
        **about(Design.WORKSHOP, queries.WORKSHOP), "form": form, "saving": saving,
        "groups": form.groups(),
        "loses_comments": design is not None and design.toml != written(value),
    }  # fmt: skip
    return render(request, "designs/workshop_edit.html", context, status=_status(request))


class Saving:
    """One try to save: the version that was seen, and what stood in the way.

    Parameters
    ----------
    request : ShopRequest
        With `seen`, the version that the page was filled in from.
    version : int
        The version there is now.
    """

    def __init__(self, request: ShopRequest, version: int) -> None:
        given = request.POST.get("seen", "")
        self.request = request
        self.seen = int(given) if given.isdecimal() and len(given) < 9 else version
        self.changed = False
        self.consequences: Any = None

    def done(self, form: forms.Form, act: Callable[[], Design], before: int) -> bool:
        """Do it and say so; or tell the form what stands in the way."""
        try:
            saved = act()
        except actions.NameTaken as error:
            form.add_error(error.field if error.field in form.fields else None, str(error))
        except actions.ChangedMeanwhile as error:
            form.add_error(None, str(error))
            self.changed, self.seen = True, before
        except actions.UsualWouldChange as error:
            form.add_error(None, str(error))
            self.consequences = error.what
        else:
            if saved.version == before:
                messages.info(self.request, _("Nothing was changed, so nothing is written."))
            else:
                messages.success(self.request, _("Saved as version %(n)d.") % {"n": saved.version})
            return True
        return False


def _form_of(
    request: ShopRequest, sort: Sort, initial: Mapping[str, Any], *, new: bool = False
) -> Any:
    if request.method != "POST":
        return sort.form(initial=initial, new=new)
    return sort.form(request.POST, initial=initial, new=new, judged="apply" not in request.POST)


def _status(request: ShopRequest) -> int:
    return 422 if request.method == "POST" and "apply" not in request.POST else 200
