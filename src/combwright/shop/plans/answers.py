"""A plan's document read back as what it sets aside: one line for each plate, and the parts."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from combwright.notes.names import parse_note
from combwright.notes.pitch import millicents
from combwright.shop.orders.models import Order
from combwright.shop.orders.reading import Reader

_MILLICENTS_PER_CENT = 1000


@dataclass(frozen=True, slots=True)
class Claim:
    """A plate that a plan gives to a seat."""

    order: str
    row: int
    copy: int
    place: str
    label: str
    midi: int
    wanted_mc: int
    bin: str
    retune_mc: int
    way: str

    @property
    def seat(self) -> tuple[str, int, int, str]:
        """What tells the seat from all others."""
        return (self.order, self.row, self.copy, self.place)


def claims(answer: Mapping[str, Any]) -> list[Claim]:
    """Return the plates of a plan's ready orders; those that wait for plates to arrive have none.

    Parameters
    ----------
    answer : mapping
        The document of `combwright plan --json`.
    """
    found: list[Claim] = []
    for order in answer["orders"]:
        if order["ready"] and "arrives" not in order:
            found += _of_order(order)
    return found


def ready_orders(answer: Mapping[str, Any]) -> list[str]:
    """Return the numbers of the orders that a plan can set aside."""
    return [each["order"] for each in answer["orders"] if each["ready"] and "arrives" not in each]


def parts_of(order: Order, reader: Reader) -> Counter[str]:
    """Return the parts that an order uses besides plates."""
    wanted: Counter[str] = Counter()
    for row in order.wishes.all():
        for part, many in reader.design(row).parts.items():
            wanted[part] += many * row.quantity
    return wanted


def _of_order(order: Mapping[str, Any]) -> Iterator[Claim]:
    for made in order["instruments"]:
        for seat in made["seats"]:
            place = f"{seat['hole']} {seat['deck']} {seat['breath']}"
            yield _claim(order["order"], made, place, "", seat)
    kits: Counter[tuple[int, int]] = Counter()
    for plate in order["plates"]:
        kits[plate["row"], plate["copy"]] += 1
        place = f"kit {kits[plate['row'], plate['copy']]}"
        yield _claim(order["order"], plate, place, plate["for"], plate)


def _claim(
    order: str, made: Mapping[str, Any], place: str, label: str, plate: Mapping[str, Any]
) -> Claim:
    midi = parse_note(plate["wanted"]).midi
    return Claim(
        order=order,
        row=made["row"],
        copy=made["copy"],
        place=place,
        label=label,
        midi=midi,
        wanted_mc=millicents(midi, plate["wanted_cents"]),
        bin=plate["bin"],
        retune_mc=round(plate["retune_cents"] * _MILLICENTS_PER_CENT),
        way=plate["way"],
    )
