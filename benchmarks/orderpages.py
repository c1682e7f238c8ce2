"""The pages that an order goes over on its way, as each of four people sees them."""

from collections.abc import Iterator
from typing import Any, Final

from benchmarks.bigorders import PEOPLE
from benchmarks.pages import TURNS, Page, Timed
from benchmarks.pages import timed as timed_pages

#: The goal for what a wish's page answers to every touch of the comb, in milliseconds.
LIVE_MS: Final = 200


def timed(turns: int = TURNS) -> Iterator[Timed]:
    """Time the pages of a shop that `bigorders` filled and brought under way."""
    return timed_pages([*_lists(), *_of_orders(), *_of_plans(), *_of_the_bench()], turns)


def _lists() -> Iterator[Page]:
    for who in PEOPLE:
        yield Page(f"Next, for the {who}", "/today/", who)
    for name, asked in (
        ("orders, newest", ""),
        ("orders, last page", "?page=400"),
        ("orders, under way", "?state=way"),
        ("orders, sent", "?state=sent"),
        ("orders, due within a week", "?due=7"),
        ("orders, a number's part", "?text=12345"),
        ("orders, a customer's name", "?text=customer+17"),
        ("orders, a text found in none", "?text=nowhere"),
    ):
        yield Page(name, f"/orders/{asked}", "office")
    yield Page("customers", "/orders/customers/", "office")
    yield Page("customers, a text found in few", "/orders/customers/?text=199", "office")
    yield Page("a customer with ten orders", "/orders/customers/17/", "office")
    for name, asked in (
        ("instruments", ""),
        ("instruments, last page", "?page=355"),
        ("instruments, a serial's part", "?text=1234"),
        ("instruments, a text found in none", "?text=nowhere"),
    ):
        yield Page(name, f"/instruments/{asked}", "office")


def _of_orders() -> Iterator[Page]:
    from combwright.shop.orders.models import Order, Wish
    from combwright.shop.rack.models import Batch
    from combwright.shop.register.models import Instrument

    new = Wish.objects.filter(order__state="open", kit="").latest("pk")
    sent, aside = (Order.objects.filter(state=each).latest("pk") for each in ("sent", "aside"))
    yield Page("an order, sent", f"/orders/{sent.number}/", "office")
    yield Page("an order, plates set aside", f"/orders/{aside.number}/", "office")
    yield Page("its plates, to pin", f"/plans/order/{aside.number}/", "office")
    yield Page("a wish, the whole page", f"/orders/wish/{new.pk}/", "office", {}, LIVE_MS)
    for name, what in (("a reed turned", "turn"), ("a note undone", "undo")):
        form = {"do": what, "seat": "3-upper"}
        yield Page(f"a wish, {name}", f"/orders/wish/{new.pk}/", "office", form, LIVE_MS)
    built = Instrument.objects.filter(sent_at__isnull=False).latest("pk")
    yield Page("an instrument", f"/instruments/{built.serial}/", "office")
    batch = Batch.objects.earliest("pk")
    yield Page("instruments of a batch", f"/instruments/batch/{batch.code}/", "office")


def _of_plans() -> Iterator[Page]:
    from combwright.shop.plans.models import MadePlan

    plan = MadePlan.objects.latest("pk")
    yield Page("plans", "/plans/", "office")
    for name, asked in (
        ("a plan of 2,200 orders", ""),
        ("its orders", "orders/"),
        ("its newly ready orders", "orders/?show=new"),
        ("its plates that are retuned", "plates/?show=retuned"),
        ("its shortages", "shortages/"),
    ):
        yield Page(name, f"/plans/{plan.pk}/{asked}", "office")


def _of_the_bench() -> Iterator[Page]:
    for state, name in (("aside", "to pick"), ("picking", "being picked"), ("bench", "built now")):
        yield Page(f"bench, {name}", f"/bench/?state={state}", "packer")
    picking, bench = _keys("picking"), _keys("bench")
    yield Page("the walk for one order", f"/bench/walk/?orders={picking[0]}", "packer")
    ten = ",".join(map(str, picking[:10]))
    yield Page("the walk for ten orders", f"/bench/walk/?orders={ten}", "packer")
    yield Page("an order on the bench", f"/bench/orders/{bench[0]}/", "maker")
    yield Page("a seat on the bench", f"/bench/orders/{bench[0]}/1/1/", "maker")


def _keys(state: str) -> list[Any]:
    from combwright.shop.orders.models import Order

    return list(Order.objects.filter(state=state).order_by("pk").values_list("pk", flat=True))
