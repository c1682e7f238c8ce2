"""The shop's label sizes: listed, made, changed, removed, and tried on a test sheet."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.sheets.fit_sheet import fit_sheet_pdf
from combwright.shop.papers import actions
from combwright.shop.papers.forms import SizeForm
from combwright.shop.papers.label_views import pdf_answer
from combwright.shop.papers.models import LabelSize
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May


@require_safe
@needs(May.LOOK)
def sizes(request: ShopRequest) -> HttpResponse:
    """List the label sizes."""
    return render(request, "papers/sizes.html", {"sizes": LabelSize.objects.all()})


@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.ARRANGE)
def new_size(request: ShopRequest) -> HttpResponse:
    """Make a label size."""
    return _edited(request, LabelSize(), _("Make a label size"))


@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.ARRANGE)
def size(request: ShopRequest, number: int) -> HttpResponse:
    """Change a label size."""
    return _edited(request, get_object_or_404(LabelSize, pk=number), _("Change a label size"))


@require_POST
@needs(May.ARRANGE)
def remove(request: ShopRequest, number: int) -> HttpResponse:
    """Remove a label size."""
    gone = get_object_or_404(LabelSize, pk=number)
    actions.remove_size(gone)
    messages.success(request, _("The size “%(size)s” is removed.") % {"size": gone.title})
    return redirect("papers:sizes")


@require_safe
@needs(May.LOOK)
def fit_sheet(_request: ShopRequest, number: int) -> HttpResponse:
    """Draw the outlines of a size's labels, to be held against the real ones."""
    tried = get_object_or_404(LabelSize, pk=number)
    return pdf_answer(fit_sheet_pdf(tried.as_size(), title=tried.title), "test-sheet.pdf")


def _edited(request: ShopRequest, edited: LabelSize, title: str) -> HttpResponse:
    posted = request.method == "POST"
    form = SizeForm(request.POST if posted else None, instance=edited)
    if posted and form.is_valid():
        kept = actions.keep_size(form.save(commit=False))
        messages.success(request, _("The size “%(size)s” is kept.") % {"size": kept.title})
        return redirect("papers:sizes")
    context = {"form": form, "title": title, "size": edited if edited.pk else None}
    return render(request, "papers/size.html", context, status=422 if posted else 200)
