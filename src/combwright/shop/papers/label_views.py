"""Choosing labels and printing them."""

from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import ip_address
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from combwright.errors import CombwrightError
from combwright.sheets.tags import Tag, parted, sheets_for, tags_pdf
from combwright.shop.papers import actions
from combwright.shop.papers.choice import chosen, tags
from combwright.shop.papers.forms import LabelsForm
from combwright.shop.papers.models import Habit, LabelSize
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May

_SHOWN: Final = 50


@dataclass(frozen=True, slots=True)
class Run:
    """What will be printed: the labels, on how many sheets, and how many hold only a mark."""

    tags: Sequence[Tag]
    size: LabelSize
    begin: int
    marks: int

    @property
    def sheets(self) -> int:
        """How many sheets it takes."""
        return sheets_for(len(self.tags), self.size.as_size(), self.begin)

    @property
    def left(self) -> int:
        """How many labels the last sheet has left."""
        return -(len(self.tags) + self.begin - 1) % self.size.as_size().on_a_sheet

    @property
    def shown(self) -> Sequence[Tag]:
        """The first of them, to look through."""
        return self.tags[:_SHOWN]

    @property
    def more(self) -> int:
        """How many are not shown."""
        return max(len(self.tags) - _SHOWN, 0)


@require_safe
@needs(May.LOOK)
def labels(request: ShopRequest) -> HttpResponse:
    """Choose labels; with a choice made, show what will be printed."""
    if not request.GET:
        return _page(request, LabelsForm(initial=_usual(request)), None)
    form = LabelsForm(_given(request))
    return _page(request, form, _run(form))


@require_POST
@needs(May.LOOK)
def printed(request: ShopRequest) -> HttpResponse:
    """Set the labels that the address's query chooses, and remember with what."""
    form = LabelsForm(_given(request))
    run = _run(form)
    if run is None or not run.tags:
        return _page(request, form, run, status=422)
    try:
        pdf = tags_pdf(run.tags, run.size.as_size(), title=_("Labels"), begin=run.begin)
    except CombwrightError as error:
        form.add_error(None, str(error))
        return _page(request, form, None, status=422)
    actions.remember(form.cleaned_data["origin"], run.size)
    return pdf_answer(pdf, "labels.pdf")


def pdf_answer(pdf: bytes, name: str) -> HttpResponse:
    """Answer with a file to save or open, never with one that a browser keeps."""
    disposition = f'attachment; filename="{name}"'
    headers = {"Content-Disposition": disposition, "Cache-Control": "no-store"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _run(form: LabelsForm) -> Run | None:
    if not form.is_valid():
        return None
    said = form.cleaned_data
    size = said["size"].as_size()
    try:
        found = tags(chosen(form.choice()), said["origin"])
        held = [parted(tag, size).held for tag in found]
    except CombwrightError as error:
        form.add_error(None, str(error))
        return None
    marks = sum(text != tag.holds[0] for text, tag in zip(held, found, strict=True))
    return Run(found, said["size"], said["begin"], marks)


def _page(
    request: ShopRequest, form: LabelsForm, run: Run | None, *, status: int = 200
) -> HttpResponse:
    context = {
        "form": form,
        "run": run,
        "query": request.GET.urlencode(),
        "any_size": LabelSize.objects.exists(),
    }
    return render(request, "papers/labels.html", context, status=status)


def _given(request: HttpRequest) -> Any:
    """Return what was chosen; what a link left out is as usual."""
    given = request.GET.copy()
    for name, value in _usual(request).items():
        if name not in given:
            given[name] = str(value)
    return given


def _usual(request: HttpRequest) -> dict[str, object]:
    habit = Habit.objects.select_related("size").first()
    size = (habit.size if habit else None) or LabelSize.objects.first()
    origin = habit.origin if habit and habit.origin else _own_origin(request)
    usual: dict[str, object] = {"what": "b", "begin": 1, "origin": origin}
    return {**usual, "size": size.pk} if size else usual


def _own_origin(request: HttpRequest) -> str:
    """Return the address that this request came to, unless no phone could come to it."""
    host = request.get_host()
    name = host.rsplit(":", 1)[0].strip("[]")
    try:
        only_here = ip_address(name).is_loopback
    except ValueError:
        only_here = name == "localhost" or name.endswith(".localhost")
    return "" if only_here else f"{request.scheme}://{host}"
