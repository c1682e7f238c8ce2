"""What the pages of orders show; each is a fixed number of queries."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256

from django.db.models import Count, F, Prefetch, Q, QuerySet

from combwright.comb.catalogue import aliases, catalogue_layout, layout_ids
from combwright.shop.designs.models import Design, title_key
from combwright.shop.designs.queries import tidy_code
from combwright.shop.orders.models import Customer, Nickname, Order, Share, Wish
from combwright.shop.orders.states import State

#: Orders in these states are on their way; the others are at an end.
UNDER_WAY = tuple(each.value for each in State if each not in (State.SENT, State.CANCELLED))
#: What a customer's link shows of each row.
_SHOWN = (
    "row", "what", "quantity", "key", "layout", "changes", "kit", "temperament", "a4", "comb",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Search:
    """What is looked for among orders.

    Parameters
    ----------
    text : str
        Part of a number or of a customer's name.
    state : str
        A state's value, "way" for all that are under way, or empty.
    due_by : date or None
        Only orders under way that are due by then; the earliest due come first.
    """

    text: str = ""
    state: str = ""
    due_by: date | None = None


def orders_found(search: Search) -> QuerySet[Order]:
    """Return the orders that a search finds, the newest first, or the earliest due first."""
    found = Order.objects.select_related("customer").prefetch_related("wishes")
    if search.text:
        named = Q(customer__name__icontains=search.text)
        found = found.filter(Q(number__icontains=search.text) | named)
    if search.state == "way":
        found = found.filter(state__in=UNDER_WAY)
    elif search.state:
        found = found.filter(state=search.state)
    if search.due_by is None:
        return found.order_by("-pk")
    due = found.filter(due__lte=search.due_by)
    if not search.state:
        due = due.filter(state__in=UNDER_WAY)
    return due.order_by("due", "pk")


def due_by(days: int, today: date) -> date:
    """Return the day that lies so many days ahead."""
    return today + timedelta(days=days)


def order_shown(number: str) -> Order | None:
    """Return an order with its customer, its wishes, its deliveries and its instruments."""
    found = Order.objects.select_related("customer", "part_of", "made_by")
    return found.prefetch_related(
        "wishes", Prefetch("deliveries", Order.objects.order_by("pk")), "instruments"
    ).filter(number=number).first()  # fmt: skip


def shares_of(order: Order) -> list[Share]:
    """Return the links of an order, the newest first."""
    return list(order.shares.select_related("made_by"))


def shown_mark(order: Order) -> str:
    """Return a mark that tells what a customer's link shows of an order from anything else.

    The order's version would not do: it rises with each step through the shop, and with what
    concerns nobody outside, as a pinned plate or a priority.
    """
    rows = order.wishes.order_by("row").values_list(*_SHOWN)
    price = None if order.price is None else f"{order.price:.2f}"
    said = (order.number, order.due and f"{order.due}", price, *rows)
    return sha256(repr(said).encode()).hexdigest()


def changed_since_yes(share: Share, order: Order) -> bool:
    """Tell whether an order is another one than the customer said yes to."""
    return share.yes_at is not None and share.yes_mark != shown_mark(order)


def layouts_named(word: str) -> list[str]:
    """Return the codes of the layouts that a word means here: none, one, or several to choose from.

    A word is a name of the catalogue, the name or title of one of the shop's own layouts, or one of
    the shop's nicknames; letters may be of any size.
    """
    code, title = tidy_code(word), title_key(word)
    found: dict[str, None] = {}
    own = Design.objects.filter(kind=Design.LAYOUT)
    named = own.filter(Q(code=code) | Q(title_key=title, retired=False)).order_by("title_key")
    found.update(dict.fromkeys(named.values_list("code", flat=True)))
    if code not in found:
        shipped = aliases().get(code, code)
        titles = {title_key(catalogue_layout(each).title): each for each in layout_ids()}
        known = shipped if shipped in layout_ids() else titles.get(title)
        found.update({known: None} if known else {})
    for nickname in Nickname.objects.order_by("layout"):
        if title_key(nickname.word) == title:
            found[nickname.layout] = None
    return list(found)


def layout_titles(codes: Iterable[str]) -> dict[str, str]:
    """Return the titles of layouts by their codes; a code that is none any more is its own."""
    wanted = list(dict.fromkeys(codes))
    own = Design.objects.filter(kind=Design.LAYOUT, code__in=wanted)
    titles = dict(own.values_list("code", "title"))
    known = {*layout_ids(), *aliases()}
    return {
        code: titles.get(code) or (catalogue_layout(code).title if code in known else code)
        for code in wanted
    }


def customers_found(text: str, *, contact: bool) -> QuerySet[Customer]:
    """Return customers by name; by email too for those who may see it."""
    found = Customer.objects.order_by("name", "pk")
    if not text:
        return found
    wanted = Q(name__icontains=text)
    return found.filter(wanted | Q(email__icontains=text) if contact else wanted)


def orders_by_customer(customers: Iterable[Customer]) -> dict[int, int]:
    """Return how many orders each of some customers has."""
    keys = [each.pk for each in customers]
    found = Order.objects.filter(customer__in=keys).order_by().values(key=F("customer"))
    return {row["key"]: row["orders"] for row in found.annotate(orders=Count("pk"))}


def orders_of(customer: Customer) -> QuerySet[Order]:
    """Return a customer's orders with their wishes and instruments."""
    return customer.orders.prefetch_related("wishes", "instruments")


def wish_shown(key: int) -> Wish | None:
    """Return a wish with its order and customer."""
    return Wish.objects.select_related("order__customer").filter(pk=key).first()


def wish_written(text: str) -> Wish | None:
    """Find a wish by its key, or as people write it: an order's number, a blank, the row."""
    number, _blank, row = text.strip().rpartition(" ")
    if len(row) > 9 or not row.isascii() or not row.isdecimal():
        return None
    found = Wish.objects.select_related("order__customer")
    if number:
        return found.filter(order__number=number.strip(), row=int(row)).first()
    return found.filter(pk=int(row)).first()
