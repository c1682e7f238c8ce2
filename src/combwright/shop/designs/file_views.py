"""Designs as TOML files: sent out as they stand, and taken in when nothing in them is wrong."""

from collections.abc import Callable
from functools import partial

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from combwright.files.opening import text_of
from combwright.files.results import BadFile, one_line
from combwright.shop.designs import actions, queries
from combwright.shop.designs.edit_views import Saving
from combwright.shop.designs.forms import CodeField, UploadForm
from combwright.shop.designs.models import Design, DesignVersion
from combwright.shop.designs.places import address
from combwright.shop.designs.queries import NoSuchDesign
from combwright.shop.designs.texts import Said, read
from combwright.shop.designs.views import about
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May

form_page = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@needs(May.LOOK)
def download(request: ShopRequest, kind: str, code: str) -> HttpResponse:  # noqa: ARG001
    """Send a design as the TOML file it is."""
    code = queries.tidy_code(code)
    try:
        text = queries.text_of(kind, code)
    except NoSuchDesign as error:
        raise Http404(str(error)) from error
    headers = {"Content-Disposition": f'attachment; filename="{code}.toml"'}
    return HttpResponse(text, content_type="application/toml; charset=utf-8", headers=headers)


@form_page
@needs(May.DESIGN)
def upload(request: ShopRequest, kind: str) -> HttpResponse:
    """Take a comb or a layout in as one of the shop's own."""
    form = _upload_form(request)
    form.fields["code"] = CodeField()
    said, problems = _said(form, kind)
    if said is not None:
        try:
            made = actions.make(
                request.user, kind, said,
                what=DesignVersion.TAKEN_IN, code=form.cleaned_data["code"],
            )  # fmt: skip
        except actions.NameTaken as error:
            form.add_error("code" if error.field == "code" else "file", str(error))
        else:
            _tell(request, said)
            messages.success(request, _("%s is taken in.") % made.title)
            return redirect(address(kind, made.code))
    context = {"kind": kind, "form": form, "problems": problems}
    return render(request, "designs/upload.html", context, status=_status(request))


@form_page
@needs(May.DESIGN)
def replace(request: ShopRequest, kind: str, code: str) -> HttpResponse:
    """Take a file in as the next version of a design there is."""
    code = queries.tidy_code(code)
    if kind == Design.WORKSHOP:
        design = queries.own(kind, code)
    else:
        design = get_object_or_404(Design, kind=kind, code=code)
    version = design.version if design else 0
    form, saving = _upload_form(request), Saving(request, version)
    said, problems = _said(form, kind)
    if said is not None and saving.done(form, _act(request, design, saving, said), version):
        _tell(request, said)
        return redirect(address(kind, code))
    context = {**about(kind, code), "form": form, "problems": problems, "saving": saving}
    return render(request, "designs/upload.html", context, status=_status(request))


def _act(
    request: ShopRequest, design: Design | None, saving: Saving, said: Said
) -> Callable[[], Design]:
    what = DesignVersion.TAKEN_IN
    if design is None or design.kind == Design.WORKSHOP:
        return partial(actions.save_workshop, request.user, saving.seen, said, what=what)
    agreed = request.POST.get("agreed", "")
    return partial(actions.save, request.user, design, saving.seen, said, what=what, agreed=agreed)


def _upload_form(request: ShopRequest) -> UploadForm:
    return UploadForm(request.POST, request.FILES) if request.method == "POST" else UploadForm()


def _said(form: UploadForm, kind: str) -> tuple[Said | None, list[str]]:
    """Read the file that was sent; give it, or every problem it has."""
    if not form.is_valid():
        return None, []
    name, data = form.contents()
    try:
        text = text_of(data, name=one_line(name))
        said = read(kind, text, name=name)
    except BadFile as error:
        form.keep("", "")
        return None, str(error).splitlines()
    # Should something else stand in the way of a good file, it need not be chosen again.
    form.keep(text, name)
    return said, []


def _tell(request: ShopRequest, said: Said) -> None:
    for warning in said.warnings:
        messages.warning(request, warning)


def _status(request: ShopRequest) -> int:
    return 422 if request.method == "POST" else 200
