"""Building: an order's instruments, and the steps that end it."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from combwright.errors import CombwrightError
from combwright.sheets.bench_words import CAUTIONS, steps_for
from combwright.shop.bench import building, seats, trays
from combwright.shop.bench.asked import told
from combwright.shop.bench.list_views import order_of
from combwright.shop.bench.trays import Place
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import State
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May, allowed
from combwright.shop.plans.models import Taken
from combwright.shop.register.models import Instrument


@dataclass(frozen=True, slots=True)
class Copy:
    """One instrument of an order, and how far it is."""

    row: int
    number: int
    title: str
    tray: str
    serial: str
    total: int
    seated: int
    lacking: int

    @property
    def done(self) -> bool:
        """Whether every seat has its plate."""
        return self.seated == self.total


@require_safe
@needs(May.LOOK)
def build(request: ShopRequest, key: int) -> HttpResponse:
    """Show an order on the bench: its instruments, its kits, the steps of the work."""
    order, reader = order_of(key), Reader()
    places = trays.places([order], reader)
    kit = [seats.told(each) for each in places if each.in_kit]
    context = {
        "order": order,
        "copies": _copies(order, places, reader),
        "kit": kit,
        "steps": steps_for(
            instruments=any(not each.in_kit for each in places),
            retunes=sum(p.taken is not None and p.taken.way != "none" for p in places),
            kit=len(kit),
        ),
        "cautions": CAUTIONS,
        "ready": all(each.done for each in places),
        "on_bench": order.state == State.BENCH,
        "built": order.state == State.BUILT,
        "here": reverse("bench:build", args=[key]),
    }
    return render(request, "bench/build.html", context)


def _copies(order: Order, places: Sequence[Place], reader: Reader) -> list[Copy]:
    found = Instrument.objects.filter(order=order, taken_apart_at=None)
    serials = {(w, c): s for w, c, s in found.values_list("wish_id", "copy", "serial")}
    grouped: dict[tuple[Wish, int], list[Place]] = {}
    for each in places:
        if not each.in_kit:
            grouped.setdefault((each.wish, each.copy), []).append(each)
    return [
        Copy(
            wish.row, copy, reader.design(wish).title, there[0].tray,
            serials.get((wish.pk, copy), ""), len(there), sum(p.done for p in there),
            sum(p.lacking for p in there),
        )
        for (wish, copy), there in grouped.items()
    ]  # fmt: skip


@require_POST
@needs(May.BUILD)
def finish(request: ShopRequest, key: int) -> HttpResponse:
    """Say that all of an order is built."""
    order = order_of(key)
    try:
        building.finish(request.user, order)
    except CombwrightError as error:
        return told(request, reverse("bench:build", args=[key]), wrong=str(error))
    words = _("Order %s is built; it can be sent.") % order.number
    # Whoever builds does not everywhere send as well.
    onward = "bench:send" if allowed(request.user.role, May.SEND) else "bench:build"
    return told(request, reverse(onward, args=[key]), words)


@require_POST
@needs(May.BUILD)
def reopen(request: ShopRequest, key: int) -> HttpResponse:
    """Take a built order back to the bench."""
    order = order_of(key)
    back = reverse("bench:build", args=[key])
    try:
        building.back_to_the_bench(request.user, order)
    except CombwrightError as error:
        return told(request, back, wrong=str(error))
    return told(request, back, _("Order %s is on the bench again.") % order.number)


def seat_page(taken: Taken, *, seat: str = "") -> str:
    """Return the page of a taken plate's seat; a kit's plate stands on its order's page."""
    if taken.place.startswith("kit"):
        return reverse("bench:build", args=[taken.order_id])
    page = reverse("bench:seat", args=[taken.order_id, taken.wish.row, taken.copy])
    return f"{page}?seat={seat}#seat" if seat else f"{page}#seat"


def seat_key(taken: Taken) -> str:
    """Return what a taken plate's seat is called in an address."""
    return "-".join(taken.place.split()[:2])
