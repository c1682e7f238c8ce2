"""The page that says where a batch's plates went."""

from typing import Any, Final

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from combwright.shop.look.stretches import stretch
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack import trace
from combwright.shop.rack.models import Batch

PAGE: Final = 50
#: What can be listed below the sums: name in the address, and label.
LISTS: Final = (
    ("lines", _("Ledger")),
    ("bins", _("Bins")),
    ("plates", _("Plates with labels")),
)


@require_safe
@needs(May.LOOK)
def batch_trace(request: ShopRequest, code: str) -> HttpResponse:
    """Add up where a batch's plates went, and list its lines, bins or labelled plates."""
    batch = get_object_or_404(Batch, code=code)
    listed = request.GET.get("list", "lines")
    if listed not in dict(LISTS):
        listed = "lines"
    context = {
        "batch": batch,
        "summary": trace.summary(batch),
        "opened": trace.opened_of(batch),
        "lists": LISTS,
        "listed": listed,
        "page": _page(request, batch, listed),
    }
    return render(request, "rack/trace.html", context)


def _page(request: ShopRequest, batch: Batch, listed: str) -> Any:
    if listed == "lines":
        return stretch(trace.told_lines(batch), request.GET, PAGE)
    rows: Any = batch.bins.order_by("walk", "code") if listed == "bins" else trace.plates_of(batch)
    return Paginator(rows, PAGE).get_page(request.GET.get("page"))
