"""What a design was: its versions, one brought back; and whether it is in use, or usual."""

from collections.abc import Iterator
from dataclasses import dataclass
from difflib import unified_diff
from functools import partial
from typing import Final

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.comb.combs import Comb
from combwright.comb.layouts import Layout
from combwright.files.results import BadFile
from combwright.shop.designs import actions, drawings, queries
from combwright.shop.designs.edit_views import Saving
from combwright.shop.designs.models import Design, DesignVersion
from combwright.shop.designs.places import address
from combwright.shop.designs.texts import parse, read
from combwright.shop.designs.usual import consequences
from combwright.shop.designs.views import about, known_or_404
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May, allowed

PAGE: Final = 50
#: Longer texts are not held against one another: that would take too long.
_MOST_LINES: Final = 2_000
form_page = require_http_methods(["GET", "HEAD", "POST"])


@dataclass(frozen=True, slots=True)
class TextLine:
    """A line of a version's text: `sign` is + for a new one, - for one that went, or a blank."""

    sign: str
    text: str


@require_safe
@needs(May.LOOK)
def versions(request: ShopRequest, kind: str, code: str) -> HttpResponse:
    """List a design's versions, the newest first."""
    design = _own(kind, code)
    page = Paginator(queries.versions(design), PAGE).get_page(request.GET.get("page"))
    return render(request, "designs/versions.html", {**about(kind, code), "page": page})


@form_page
@needs(May.LOOK)
def version(request: ShopRequest, kind: str, code: str, number: int) -> HttpResponse:
    """Show a version as it was; a POST brings it back as a new one."""
    design = _own(kind, code)
    there = design.versions.select_related("made_by").filter(number__in=(number, number - 1))
    found = get_object_or_404(there, number=number)
    form, saving = forms.Form(request.POST or None), Saving(request, design.version)
    if request.method == "POST" and _brought_back(request, design, found, form, saving):
        return redirect(address(kind, design.code))
    before = next((each.toml for each in there if each.number == number - 1), found.toml)
    context = {
        **about(kind, code),
        "version": found,
        "form": form,
        "saving": saving,
        "is_now": found.toml == design.toml,
        "drawing": _drawing(kind, found.toml),
        "lines": list(_changed_lines(before, found.toml)),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "designs/version.html", context, status=status)


def _own(kind: str, code: str) -> Design:
    return get_object_or_404(Design, kind=kind, code=queries.tidy_code(code))


def _brought_back(
    request: ShopRequest, design: Design, found: DesignVersion, form: forms.Form, saving: Saving
) -> bool:
    if not allowed(request.user.role, May.DESIGN):
        raise PermissionDenied(_("Only the owner and makers change designs."))
    form.is_valid()
    try:
        said = read(design.kind, found.toml, name=f"{design.code}.toml")
    except BadFile as error:
        for line in str(error).splitlines():
            form.add_error(None, line)
        return False
    act = partial(
        actions.save, request.user, design, saving.seen, said, what=DesignVersion.BROUGHT_BACK,
        earlier=found.number, agreed=request.POST.get("agreed", ""),
    )  # fmt: skip
    return saving.done(form, act, design.version)


def _drawing(kind: str, toml: str) -> SafeString | None:
    value = parse(kind, toml, name="").value
    if isinstance(value, Comb):
        return drawings.drawn_comb(value)
    if isinstance(value, Layout):
        return drawings.drawn_layout(value, drawings.comb_for(value, queries.usual_comb()))
    return None


def _changed_lines(before: str, after: str) -> Iterator[TextLine]:
    """Give the lines that differ, each with a line or two around it."""
    old, new = before.splitlines(), after.splitlines()
    if max(len(old), len(new)) > _MOST_LINES:
        return
    for number, line in enumerate(unified_diff(old, new, n=2, lineterm="")):
        if number > 1:  # the first two lines name files
            yield TextLine("", "…") if line.startswith("@@") else TextLine(line[0], line[1:])


@require_POST
@needs(May.DESIGN)
def retire(request: ShopRequest, kind: str, code: str) -> HttpResponse:
    """Take a design out of the lists."""
    design = _own(kind, code)
    try:
        actions.retire(request.user, design)
    except actions.NotSo as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("%s is retired; orders that name it still mean it.") % design)
    return redirect(address(kind, design.code))


@require_POST
@needs(May.DESIGN)
def use_again(request: ShopRequest, kind: str, code: str) -> HttpResponse:
    """Take a retired design into the lists again."""
    design = actions.use_again(request.user, _own(kind, code))
    messages.success(request, _("%s is in use again.") % design)
    return redirect(address(kind, design.code))


@form_page
@needs(May.DESIGN)
def usual(request: ShopRequest, code: str) -> HttpResponse:
    """Show what changes when a comb becomes the usual one; a POST makes it so."""
    code = queries.tidy_code(code)
    found = known_or_404(Design.COMB, code)
    form = forms.Form(request.POST or None)
    if form.is_valid():
        try:
            actions.make_usual(request.user, code, request.POST.get("agreed", ""))
        except actions.UsualWouldChange:
            form.add_error(None, _("What it changes is not what you saw; look at it again."))
        except actions.NotSo as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("%s is the usual comb now.") % found.title)
            return redirect("designs:comb", code)
    now = queries.usual_comb()
    context = {
        **about(Design.COMB, code),
        "comb": found,
        "now": now,
        "form": form,
        "consequences": consequences(now, found),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "designs/usual.html", context, status=status)
