"""The demo shop's designs, customers and orders: those of the invented workshop's files."""

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from itertools import cycle
from typing import Any, Final

from combwright.comb.combs import Comb
from combwright.demo.scenario import order_rows, shop_text
from combwright.shop.designs import actions as designs
from combwright.shop.designs.models import Design, DesignVersion
from combwright.shop.designs.queries import usual_comb
from combwright.shop.designs.texts import read
from combwright.shop.designs.usual import consequences
from combwright.shop.orders.actions import make_order, open_order
from combwright.shop.orders.models import Customer, Order
from combwright.shop.people.models import Person

#: What the files' names are called in the shop. The shop has no temperaments of its own: of those
#: it knows, this one softens the thirds too.
_CALLED: Final = {
    "comb-long.toml": "long-ten",
    "layout-turned-third.toml": "turned-third",
    "layout-low-drone.toml": "low-drone",
    "temperament-soft-thirds.toml": "5-limit",
}
_COMB: Final = "plain-ten"
#: Invented, as everything here; nobody is meant.
_CUSTOMERS: Final = (
    "Fernhollow Folk Club", "Osk Windlebrae", "Copperkettle Sessions", "Tamsit Quorle",
    "School at the Lower Weir", "Ebbo Marrowick", "Nine Bells Dance Band", "Ilka Thornveldt",
    "Saltmarsh Songbook", "Perrin Dovecastle", "Late Ferry Trio", "Wenna Askelbrook",
)  # fmt: skip


def take_orders(person: Person) -> None:
    """Make the workshop's designs its own, and open all its orders."""
    _designs(person)
    customers = [
        Customer.objects.create(name=name, email=f"customer-{n}@shop.example")
        for n, name in enumerate(_CUSTOMERS, start=1)
    ]
    for row, customer in zip(order_rows(), cycle(customers), strict=False):
        first: Order | None = None
        for number in _numbers(row):
            facts = {**_facts(row), "number": number, "customer": customer, "part_of": first}
            made = make_order(person, facts, [_wish(row)])
            open_order(made, person)
            first = first or made


def _designs(person: Person) -> None:
    for kind, name in (
        (Design.COMB, "comb.toml"), (Design.COMB, "comb-long.toml"),
        (Design.LAYOUT, "layout-turned-third.toml"), (Design.LAYOUT, "layout-low-drone.toml"),
    ):  # fmt: skip
        said = read(kind, shop_text(name), name=name)
        code = _CALLED.get(name, _COMB)
        designs.make(person, kind, said, what=DesignVersion.TAKEN_IN, code=code)
        if code == _COMB and isinstance(said.value, Comb):
            designs.make_usual(person, code, consequences(usual_comb(), said.value).seal)
    numbers = read(Design.WORKSHOP, shop_text("workshop.toml"), name="workshop.toml")
    designs.save_workshop(person, 0, numbers, what=DesignVersion.TAKEN_IN)


def _numbers(row: Mapping[str, str]) -> Iterator[str]:
    """Give an order's number; one whose copies may ship each by itself is an order for each."""
    if row["split"] != "yes":
        yield row["order"]
        return
    for copy in range(1, int(row["quantity"]) + 1):
        yield f"{row['order']}/{copy}"


def _facts(row: Mapping[str, str]) -> dict[str, Any]:
    value = Decimal(row["value"])
    return {
        "due": date.fromisoformat(row["due"]),
        "priority": int(row["priority"] or 5),
        "value": value,
        "price": value,
        "promised": row["promised"] == "yes",
    }


def _wish(row: Mapping[str, str]) -> dict[str, Any]:
    return {
        "what": row["what"] or "instrument",
        "quantity": 1 if row["split"] == "yes" else int(row["quantity"] or 1),
        "key": row["key"],
        "layout": _CALLED.get(row["layout"], row["layout"]),
        "changes": row["changes"],
        "kit": row["kit"],
        "temperament": _CALLED.get(row["temperament"], row["temperament"]) or "equal",
        "a4": Decimal(row["a4"] or 440),
        "comb": _CALLED.get(row["comb"], row["comb"]),
    }
