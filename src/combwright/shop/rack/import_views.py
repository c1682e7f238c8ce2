"""The pages of imports: a file is looked at first, then booked, and can be taken back."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from combwright.files.results import BadFile
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack import actions, import_actions
from combwright.shop.rack.forms import WhyForm
from combwright.shop.rack.import_forms import UploadForm
from combwright.shop.rack.imports import (
    Comparison,
    Contents,
    Difference,
    Plain,
    compare,
    file_name,
    read_contents,
)
from combwright.shop.rack.models import Bin, Upload

PAGE: Final = 100
_THOUSANDTHS: Final = {"millicents", "slot_um"}
form_page = require_http_methods(["GET", "HEAD", "POST"])


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the preview."""

    difference: Difference
    measures: tuple[str, ...]


@form_page
@needs(May.IMPORT)
def imports(request: ShopRequest) -> HttpResponse:
    """Take a file to look at; one with problems is not kept, and all of them are shown."""
    posted = request.method == "POST"
    form = UploadForm(request.POST, request.FILES) if posted else UploadForm()
    problems: list[str] = []
    if form.is_valid():
        upload, problems = _looked_at(request, form)
        if upload is not None:
            return redirect("rack:import", upload.pk)
    uploads = Upload.objects.defer("data", "earlier").select_related("made_by", "entry")
    page = Paginator(uploads.prefetch_related("entry__corrections"), 20).get_page(
        request.GET.get("page")
    )
    context = {"form": form, "problems": problems, "page": page}
    return render(request, "rack/imports.html", context, status=_status(request))


def _looked_at(request: ShopRequest, form: UploadForm) -> tuple[Upload | None, list[str]]:
    given, decimal = form.cleaned_data["file"], form.cleaned_data["decimal"]
    name, data = file_name(given.name or ""), given.read()
    try:
        compare(read_contents(data, name, decimal or None), import_actions.rack_by_code())
    except BadFile as error:
        return None, str(error).splitlines()
    return import_actions.keep(request.user, name, data, decimal), []


@form_page
@needs(May.IMPORT)
def one(request: ShopRequest, number: int) -> HttpResponse:
    """Show what a file would change; a POST books it."""
    upload = get_object_or_404(Upload.objects.select_related("entry", "made_by"), pk=number)
    refused = ""
    if request.method == "POST":
        try:
            entry = import_actions.book(request.user, upload, request.POST.get("seen", ""))
        except import_actions.BookedBefore as error:
            messages.warning(request, str(error))
            return redirect("rack:import", number)
        except actions.NotSo as error:
            refused = str(error)
        except BadFile:
            pass  # what is wrong is shown with the preview
        else:
            messages.success(request, _("The file is booked as entry %d.") % entry.pk)
            return redirect("rack:import", number)
    context = {"upload": upload, "refused": refused}
    if upload.entry is None:
        context |= _preview(request, upload)
    else:
        context["undone"] = upload.entry.corrections.first()
    status = 409 if refused else _status(request)
    return render(request, "rack/import.html", context, status=status)


def _preview(request: ShopRequest, upload: Upload) -> dict[str, Any]:
    try:
        contents = import_actions.contents_of(upload)
        comparison = compare(contents, import_actions.rack_by_code())
    except BadFile as error:
        return {"problems": str(error).splitlines()}
    return _told(request, contents, comparison)


def _told(request: ShopRequest, contents: Contents, comparison: Comparison) -> dict[str, Any]:
    page = Paginator(comparison.differences, PAGE).get_page(request.GET.get("page"))
    rows = [Row(each, tuple(_measures(each))) for each in page]
    new = sum(each.key is None for each in comparison.differences)
    counts = sum(each.key is not None and each.change != 0 for each in comparison.differences)
    return {
        "comparison": comparison,
        "warnings": contents.warnings,
        "page": page,
        "rows": rows,
        "new": new,
        "counts": counts,
        "measures": sum(bool(each.measures) for each in comparison.differences),
        "plates": sum(each.change for each in comparison.differences),
    }


def _measures(each: Difference) -> Iterator[str]:
    """Say each changed measure with its value before and after; of a new bin, what it is."""
    if each.key is None:
        for measure, value in each.said.measures.items():
            if value not in ("", "0.00", 0, False):
                yield f"{_label(measure)}: {_shown(measure, value)}"
    for measure, (before, after) in each.measures.items():
        yield _("%(what)s: %(before)s, then %(after)s") % {
            "what": _label(measure),
            "before": _shown(measure, before),
            "after": _shown(measure, after),
        }


def _label(measure: str) -> str:
    return str(Bin._meta.get_field(measure).verbose_name)  # type: ignore[union-attr]


def _shown(measure: str, value: Plain) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if measure in _THOUSANDTHS:
        unit = _("cents") if measure == "millicents" else "mm"
        return f"{number_format((Decimal(value) / 1000).normalize())} {unit}"
    if measure == "cost":
        return number_format(Decimal(value))
    if measure == "mount":
        return str(dict(Bin.MOUNTS)[str(value)])
    return str(value) or _("nothing")


@form_page
@needs(May.CORRECT)
def take_back(request: ShopRequest, number: int) -> HttpResponse:
    """Take a booked import back: counts and measures."""
    upload = get_object_or_404(
        Upload.objects.exclude(entry=None).select_related("entry"), pk=number
    )
    form = WhyForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            done = import_actions.take_back(request.user, upload, note=form.cleaned_data["note"])
        except actions.NotSo as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("Import %d is taken back.") % upload.pk)
            if done.kept:
                messages.warning(
                    request,
                    _("Measures changed again since, and left as they are: bins %s.")
                    % ", ".join(done.kept[:20]),
                )
            return redirect("rack:entry", done.entry.pk)
    context = {"upload": upload, "form": form}
    return render(request, "rack/import_back.html", context, status=_status(request))


def _status(request: ShopRequest) -> int:
    return 422 if request.method == "POST" else 200
