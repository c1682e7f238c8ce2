"""Orders to take away, in the format that the command line reads: `orders.csv`.

A layout or comb of the shop's own is named there by a file, `layout-low-drone.toml`; the ZIP holds
those files too.
"""

import io
import zipfile
from collections.abc import Iterator

from django.db.models import QuerySet
from django.http import HttpResponse
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from combwright.comb.catalogue import aliases, layout_ids
from combwright.files.orders import ORDER_COLUMNS
from combwright.shop.designs import queries as designs
from combwright.shop.designs.models import Design
from combwright.shop.orders import queries
from combwright.shop.orders.forms import SearchForm
from combwright.shop.orders.models import Order, Wish
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack.export_files import csv_parts
from combwright.shop.rack.tables import AT_ONCE, Row, Table, text_cell


@require_safe
@needs(May.LOOK)
def orders_csv(request: ShopRequest) -> HttpResponse:
    """Send the orders that a search finds."""
    return _download(_csv(_found(request)), "orders.csv", "text/csv; charset=utf-8")


@require_safe
@needs(May.LOOK)
def orders_zip(request: ShopRequest) -> HttpResponse:
    """Send the orders that a search finds, with the layouts and combs of the shop's own."""
    found, kept = _found(request), io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("orders.csv", _csv(found))
        for name, text in _files(found):
            packed.writestr(name, text)
    return _download(kept.getvalue(), "orders.zip", "application/zip")


def _found(request: ShopRequest) -> QuerySet[Order]:
    return queries.orders_found(SearchForm(request.GET).search())


def _download(content: bytes, name: str, kind: str) -> HttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    return HttpResponse(content, content_type=kind, headers=headers)


def _csv(found: QuerySet[Order]) -> bytes:
    known = _named_alone()
    header = tuple(column.name for column in ORDER_COLUMNS)
    table = Table("orders", _("What is wanted."), header, lambda: _rows(found, known))
    return b"".join(csv_parts(table))


def _rows(found: QuerySet[Order], known: set[str]) -> Iterator[Row]:
    for order in found.iterator(AT_ONCE):
        for wish in order.wishes.all():
            yield _row(order, wish, known)


def _row(order: Order, wish: Wish, known: set[str]) -> Row:
    return (
        text_cell(order.number), wish.what, wish.quantity, wish.key,
        _layout_file(wish.layout, known), text_cell(wish.changes), text_cell(wish.kit),
        wish.temperament, wish.a4.normalize(), _comb_file(wish.comb),
        order.due.isoformat() if order.due else "", order.priority, order.value,
        "yes" if order.promised else "no", "",
    )  # fmt: skip


def _layout_file(code: str, known: set[str]) -> str:
    return code if designs.tidy_code(code) in known else f"layout-{code}.toml"


def _comb_file(code: str) -> str:
    return f"comb-{code}.toml" if code else ""


def _named_alone() -> set[str]:
    """Return the layouts that a file need not bring along: the catalogue's."""
    own = Design.objects.filter(kind=Design.LAYOUT).values_list("code", flat=True)
    return {*layout_ids(), *aliases()} - set(own)


def _files(found: QuerySet[Order]) -> Iterator[tuple[str, str]]:
    """Give the TOML files that the orders name."""
    wishes = Wish.objects.filter(order__in=found.order_by().values("pk")).order_by()
    known = _named_alone()
    for code in sorted(set(wishes.values_list("layout", flat=True))):
        name = _layout_file(code, known)
        if name != code:
            yield name, designs.text_of(Design.LAYOUT, code)
    for code in sorted(set(wishes.exclude(comb="").values_list("comb", flat=True))):
        yield _comb_file(code), designs.text_of(Design.COMB, code)
