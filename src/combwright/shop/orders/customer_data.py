"""Everything that the shop keeps of one person, as one document to give to them."""

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from combwright.shop.orders.customer_actions import PERSONAL
from combwright.shop.orders.models import Customer, Order, Share, Wish
from combwright.shop.orders.splitting import OF_A_WISH


def data_of(customer: Customer) -> dict[str, Any]:
    """Return what is kept of a customer: who they are, their orders, links, instruments, tunes."""
    orders = customer.orders.select_related("part_of").order_by("pk")
    found = orders.prefetch_related("wishes", "steps", "shares", "instruments")
    return {
        "schema": 1,
        "made_at": _when(timezone.now()),
        "customer": {name: getattr(customer, name) for name in PERSONAL}
        | {"known_since": _when(customer.made_at), "erased_at": _when(customer.erased_at)},
        "orders": [_order(order) for order in found],
        "repertoires": list(_repertoires(customer)),
    }


def _order(order: Order) -> dict[str, Any]:
    return {
        "order": order.number,
        "part_of": order.part_of.number if order.part_of else None,
        "state": order.state,
        "made_at": _when(order.made_at),
        "due": _when(order.due),
        "promised": order.promised,
        "price": None if order.price is None else str(order.price),
        "note": order.note,
        "tracking": order.tracking,
        "rows": [_wish(wish) for wish in order.wishes.all()],
        "timeline": [{"at": _when(s.at), "what": s.words} for s in order.steps.all()],
        "links": [_share(share) for share in order.shares.all()],
        "instruments": list(_instruments(order)),
    }


def _wish(wish: Wish) -> dict[str, Any]:
    facts = {name: getattr(wish, name) for name in OF_A_WISH}
    return {"row": wish.row} | facts | {"a4": f"{float(wish.a4):g}"}


def _share(share: Share) -> dict[str, Any]:
    return {
        "made_at": _when(share.made_at),
        "expires_at": _when(share.expires_at),
        "withdrawn_at": _when(share.withdrawn_at),
        "yes_at": _when(share.yes_at),
        "yes_name": share.yes_name,
        "yes_words": share.yes_words,
    }


def _instruments(order: Order) -> Iterator[dict[str, Any]]:
    for each in order.instruments.all():
        yield {
            "serial": each.serial,
            "what": each.title,
            "finished_at": _when(each.finished_at),
            "sent_at": _when(each.sent_at),
        }


def _repertoires(customer: Customer) -> Iterator[dict[str, Any]]:
    for each in customer.repertoires.order_by("pk").prefetch_related("melodies"):
        yield {
            "name": each.name,
            "made_at": _when(each.made_at),
            "note": each.about,
            "tunes": [
                {"title": tune.title, "from": tune.source, "music": tune.music}
                for tune in each.melodies.all()
            ],
        }


def _when(at: date | datetime | None) -> str | None:
    return None if at is None else at.isoformat()
