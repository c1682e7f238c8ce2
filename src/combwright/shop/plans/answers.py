"""A plan's document read back as what it sets aside: one line for each plate, and the parts."""

import json
import zlib
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final

from combwright.allocation.answer import Reservation
from combwright.notes.names import note_name, parse_note
from combwright.notes.pitch import millicents
from combwright.shop.orders.models import Order
from combwright.shop.orders.reading import Reader
from combwright.shop.plans.models import MadePlan, PlanOrder, PlanShortage

_MILLICENTS_PER_CENT = 1000
#: Fast and small enough: a hundred bytes for each seat become some twenty.
_PACKED: Final = 3


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

    @property
    def note(self) -> str:
        """The wanted note's name."""
        return note_name(self.midi)

    @property
    def cents(self) -> float:
        """The retuning in cents."""
        return self.retune_mc / _MILLICENTS_PER_CENT


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
            found += claims_of(order)
    return found


def claims_of(order: Mapping[str, Any]) -> Iterator[Claim]:
    """Give the plates that a plan gives to one order, by the order's part of the document."""
    for made in order["instruments"]:
        for seat in made["seats"]:
            place = f"{seat['hole']} {seat['deck']} {seat['breath']}"
            yield _claim(order["order"], made, place, "", seat)
    kits: Counter[tuple[int, int]] = Counter()
    for plate in order["plates"]:
        kits[plate["row"], plate["copy"]] += 1
        place = f"kit {kits[plate['row'], plate['copy']]}"
        yield _claim(order["order"], plate, place, plate["for"], plate)


def parts_of(order: Order, reader: Reader) -> Counter[str]:
    """Return the parts that an order uses besides plates."""
    wanted: Counter[str] = Counter()
    for row in order.wishes.all():
        for part, many in reader.design(row).parts.items():
            wanted[part] += many * row.quantity
    return wanted


def rows_of(
    plan: MadePlan,
    answer: Mapping[str, Any],
    versions: Mapping[str, int],
    keep: Iterable[Reservation],
) -> tuple[list[PlanOrder], list[PlanShortage]]:
    """Return a document as a plan's rows, not saved yet.

    Parameters
    ----------
    plan : MadePlan
        Whose rows they are.
    answer : mapping
        The document of `combwright plan --json`.
    versions : mapping of str to int
        The version of each order that was planned.
    keep : iterable of Reservation
        What is set aside as the plan is kept: a seat that gets another bin's plate is moved.
    """
    lacks: dict[str, list[int]] = defaultdict(list)
    for position, shortage in enumerate(answer["shortages"]):
        for number in shortage["orders"]:
            lacks[number].append(position)
    there = {(each.order, each.row, each.copy, each.place): each.bin for each in keep}
    orders = [
        _row(plan, position, order, versions.get(order["order"]), lacks[order["order"]], there)
        for position, order in enumerate(answer["orders"])
    ]
    return orders, [
        PlanShortage(
            plan=plan, position=position, missing=each["missing"], text=each["text"],
            waiting=len(each["orders"]), said=each,
        )
        for position, each in enumerate(answer["shortages"])
    ]  # fmt: skip


def _row(
    plan: MadePlan,
    position: int,
    order: Mapping[str, Any],
    version: int | None,
    lacks: list[int],
    there: Mapping[tuple[str, int, int, str], str],
) -> PlanOrder:
    given = list(claims_of(order))
    moves = [
        [each.row, each.copy, each.place, there[each.seat], each.bin]
        for each in given
        if there.get(each.seat, each.bin) != each.bin
    ]
    return PlanOrder(
        plan=plan,
        position=position,
        order_id=order["order"],
        version=version,
        ready=order["ready"],
        arrives=date.fromisoformat(order["arrives"]) if "arrives" in order else None,
        cost=None if order["cost"] is None else Decimal(str(order["cost"])),
        plates=len(given),
        retunes=sum(each.way != "none" for each in given),
        moves=moves,
        moved=len(moves),
        lacks=lacks,
        packed=zlib.compress(json.dumps(order, separators=(",", ":")).encode(), _PACKED),
    )


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
