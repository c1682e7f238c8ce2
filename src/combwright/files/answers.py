"""Answers as JSON: what a plan says of every order, and whether one wish can be built.

A plan's document is read back by `reservations.py`.
"""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any, Final

from combwright.allocation.answer import Buildable, Kitted, Made, Placed, Plan, Served, Shortage

SCHEMA: Final = 1
_PLACES: Final = 6


def plan_answer(plan: Plan) -> dict[str, Any]:
    """Return a plan as the document of `plan --json`.

    Money has at most six decimals, cents three. An order that ships in parts comes once a copy,
    with `row` and `copy`; one that waits for expected plates has `arrives`, the day of the last.
    """
    return {
        "schema": SCHEMA,
        "proven": plan.proven,
        "value": _amount(plan.value),
        "value_bound": _amount(plan.value_bound),
        "gap": plan.gap,
        "cost": _amount(plan.cost),
        "cost_bound": _amount(plan.cost_bound),
        "orders": [_order(served) for served in plan.served],
        "shortages": shortages_answer(plan.shortages),
    }


def can_answer(buildable: Buildable) -> dict[str, Any]:
    """Return whether a wish can be built as the document of `can --json`.

    `plates` stands beside `seats` only where the wish has a kit.
    """
    made = buildable.made
    answer: dict[str, Any] = {
        "schema": SCHEMA,
        "can": buildable.can,
        "cost": None if buildable.cost is None else _amount(buildable.cost),
        "seats": [_seat(placed) for placed in made.seats] if made else [],
    }
    if made and made.kit:
        answer["plates"] = [_loose(kitted) for kitted in made.kit]
    return {**answer, "missing": shortages_answer(buildable.missing)}


def shortages_answer(shortages: Iterable[Shortage]) -> list[dict[str, Any]]:
    """Return what is missing, one entry a set of seats or parts."""
    return [
        {
            "missing": shortage.missing,
            "pitches": list(shortage.pitches),
            "holes": list(shortage.holes),
            "parts": list(shortage.parts),
            "orders": list(shortage.orders),
            "text": shortage.text,
        }
        for shortage in shortages
    ]


def _order(served: Served) -> dict[str, Any]:
    answer: dict[str, Any] = {"order": served.order.name}
    if served.order.split:
        copy = served.order.copies[0]
        answer |= {"row": copy.row, "copy": copy.copy}
    answer |= {
        "ready": served.ready,
        "cost": None if served.cost is None else _amount(served.cost),
        "instruments": [_instrument(made) for made in served.made if made.seats],
        "plates": [
            {**_loose(kitted), "row": made.row, "copy": made.copy}
            for made in served.made
            for kitted in made.kit
        ],
    }
    if served.arrives is not None:
        answer["arrives"] = served.arrives.isoformat()
    return answer


def _instrument(made: Made) -> dict[str, Any]:
    return {"row": made.row, "copy": made.copy, "seats": [_seat(placed) for placed in made.seats]}


def _seat(placed: Placed) -> dict[str, Any]:
    want = placed.want
    return {
        "hole": want.hole,
        "deck": want.deck,
        "breath": want.breath,
        "facing": want.facing,
        **_plate(placed),
    }


def _loose(kitted: Kitted) -> dict[str, Any]:
    return {"for": kitted.label, **_plate(kitted.placed)}


def _plate(placed: Placed) -> dict[str, Any]:
    return {
        "wanted": placed.want.note,
        "wanted_cents": _cents(placed.want.cents),
        "bin": placed.bin,
        "batch": placed.batch,
        "retune_cents": _cents(placed.retune_cents),
        "way": placed.way,
    }


def _cents(cents: float) -> float:
    return round(cents, 3) + 0.0  # minus zero becomes zero


def _amount(amount: Decimal) -> int | float:
    """Return an amount as JSON writes it: whole where it is whole."""
    rounded = round(amount, _PLACES)
    return int(rounded) if rounded == rounded.to_integral_value() else float(rounded)
