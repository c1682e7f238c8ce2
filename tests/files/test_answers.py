import json
from datetime import date
from decimal import Decimal

import pytest

from combwright.allocation.answer import (
    Buildable,
    Kitted,
    Made,
    Placed,
    Plan,
    Reservation,
    Served,
    Shortage,
)
from combwright.allocation.orders import Copy, Design, Order, Want
from combwright.files.answers import can_answer, plan_answer
from combwright.files.reservations import read_reservations
from files.written import line_of, write

BLOW = Want(1, "upper", "blow", 60, 0.0, 16.8)
DRAW = Want(5, "lower", "draw", 77, -29.2194, 14.1, "rear")
FIRST = Placed(BLOW, "A-03", "b2", -2.5, "file", Decimal("2.65"))
SECOND = Placed(DRAW, "B-07", "", -0.0, "none", Decimal("1.80"))
SPARE = Kitted("5 draw", SECOND)
SHORT = Shortage(14, ("A4", "A#4"), (3, 4), (), ("W-9",), "14 plates between A4 and A#4 ...")
DESIGN = Design((BLOW, DRAW))


def order(name, *rows, split=False):
    return Order(name, tuple(Copy(row, 1, DESIGN) for row in rows), split=split)


PLAN = Plan(
    served=(
        Served(
            order("W-1", 2, 4),
            (
                Made(2, 1, (FIRST, SECOND), (SPARE, SPARE)),
                Made(4, 1, (), (SPARE,)),
            ),
            Decimal("52.10"),
            date(2031, 5, 1),
        ),
        Served(order("W-9", 3)),
        Served(order("W-3", 7, split=True), (Made(7, 1, (FIRST,), ()),), Decimal(4)),
    ),
    shortages=(SHORT,),
    value=Decimal("905"),
    value_bound=Decimal("1000.5"),
    proven=False,
    cost=Decimal("56.1000004"),
    cost_bound=Decimal("56"),
)


def test_a_plan_becomes_the_document_of_the_contract():
    document = plan_answer(PLAN)
    assert list(document) == [
        "schema", "proven", "value", "value_bound", "gap", "cost", "cost_bound", "orders",
        "shortages",
    ]  # fmt: skip
    assert (document["value"], document["value_bound"]) == (905, 1000.5)
    assert (document["cost"], document["cost_bound"]) == (56.1, 56)
    assert isinstance(document["value"], int)
    assert document["gap"] == pytest.approx(95.5 / 1000.5)
    assert document["shortages"] == [
        {
            "missing": 14, "pitches": ["A4", "A#4"], "holes": [3, 4], "parts": [],
            "orders": ["W-9"], "text": "14 plates between A4 and A#4 ...",
        }
    ]  # fmt: skip
    ready, waiting, split = document["orders"]
    spare = {"for": "5 draw", "wanted": "F5", "wanted_cents": -29.219, "bin": "B-07", "batch": "",
             "retune_cents": 0.0, "way": "none"}  # fmt: skip
    assert ready == {
        "order": "W-1",
        "ready": True,
        "cost": 52.1,
        "instruments": [
            {
                "row": 2,
                "copy": 1,
                "seats": [
                    {"hole": 1, "deck": "upper", "breath": "blow", "facing": "in", "wanted": "C4",
                     "wanted_cents": 0.0, "bin": "A-03", "batch": "b2", "retune_cents": -2.5,
                     "way": "file"},
                    {"hole": 5, "deck": "lower", "breath": "draw", "facing": "out", "wanted": "F5",
                     "wanted_cents": -29.219, "bin": "B-07", "batch": "", "retune_cents": 0.0,
                     "way": "none"},
                ],
            }
        ],
        "plates": [
            {**spare, "row": 2, "copy": 1}, {**spare, "row": 2, "copy": 1},
            {**spare, "row": 4, "copy": 1},
        ],
        "arrives": "2031-05-01",
    }  # fmt: skip
    assert waiting == {
        "order": "W-9", "ready": False, "cost": None, "instruments": [], "plates": [],
    }  # fmt: skip
    assert list(split)[:3] == ["order", "row", "copy"]
    assert (split["row"], split["copy"]) == (7, 1)


def test_no_minus_zero_is_written():
    assert "-0.0" not in json.dumps(plan_answer(PLAN))


def test_a_plan_given_back_keeps_every_plate(tmp_path):
    path = write(tmp_path, "plan.json", json.dumps(plan_answer(PLAN)))
    assert read_reservations(path).value == (
        Reservation("W-1", 2, 1, "1 upper blow", "A-03", "b2"),
        Reservation("W-1", 2, 1, "5 lower draw", "B-07", ""),
        Reservation("W-1", 2, 1, "kit 1", "B-07", ""),
        Reservation("W-1", 2, 1, "kit 2", "B-07", ""),
        Reservation("W-1", 4, 1, "kit 1", "B-07", ""),
        Reservation("W-3", 7, 1, "1 upper blow", "A-03", "b2"),
    )


def test_whether_a_wish_can_be_built_becomes_the_document_of_the_contract():
    assert can_answer(Buildable(False, None, None, (SHORT,))) == {
        "schema": 1,
        "can": False,
        "cost": None,
        "seats": [],
        "missing": plan_answer(PLAN)["shortages"],
    }
    can = can_answer(Buildable(True, Made(1, 1, (FIRST,), (SPARE,)), Decimal("4.45")))
    assert (can["can"], can["cost"], can["missing"]) == (True, 4.45, [])
    assert can["seats"] == plan_answer(PLAN)["orders"][0]["instruments"][0]["seats"][:1]
    assert [plate["for"] for plate in can["plates"]] == ["5 draw"]


def changed(change):
    document = json.loads(json.dumps(plan_answer(PLAN)))
    change(document)
    return json.dumps(document)


def drop(*path):
    def change(document):
        for key in path[:-1]:
            document = document[key]
        del document[path[-1]]

    return changed(change)


def put(value, *path):
    def change(document):
        for key in path[:-1]:
            document = document[key]
        document[path[-1]] = value

    return changed(change)


SEAT = ("orders", 0, "instruments", 0, "seats", 0)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "plan.json is no sound JSON: "),
        ("{", "plan.json is no sound JSON: "),
        ('{"schema": 1, "orders": [NaN]}', "is no sound JSON: NaN is no number of JSON"),
        ("[" * 100_000, "is no sound JSON: it is nested too deeply"),
        ('{"a": ' + "1" * 5000 + "}", "is no sound JSON: "),
        ("[]", "is no plan: it has no orders"),
        ('{"schema": 1, "can": true}', "is no plan: it has no orders"),
        ('{"schema": 2, "orders": []}', "has schema 2; a plan of schema 1 is read"),
        ('{"orders": []}', "has schema None"),
        ('{"schema": true, "orders": []}', "has schema True"),
        (put({}, "orders"), "the plan: 'orders' is '{}'; a list should stand there"),
        (put(3, "orders", 1), "order 2: '3' stands where an object with 'order' should"),
        (drop("orders", 0, "order"), "order 1: 'order' is missing; give what plan --json printed"),
        (drop("orders", 0, "ready"), "order 'W-1': 'ready' is missing"),
        (put(1, "orders", 0, "ready"), "order 'W-1': 'ready' is '1'; true or false should"),
        (drop("orders", 0, "plates"), "order 'W-1': 'plates' is missing"),
        (drop("orders", 0, "plates", 1, "row"), "order 'W-1': 'row' is missing"),
        (put(0, "orders", 0, "plates", 1, "copy"), "order 'W-1': 'copy' is 0; 1 is the least"),
        (put(True, "orders", 0, "plates", 1, "copy"), "'copy' is 'True'; a whole number should"),
        (drop(*SEAT, "bin"), "order 'W-1': 'bin' is missing"),
        (put(5, *SEAT, "bin"), "order 'W-1': 'bin' is '5'; a text should stand there"),
        (put("middle", *SEAT, "deck"), "order 'W-1': there is no seat 1 middle blow"),
        (put(17, *SEAT, "hole"), "order 'W-1': there is no seat 17 upper blow"),
        (put(None, *SEAT), "order 'W-1': 'None' stands where an object"),
        (
            changed(lambda d: d["orders"].append(d["orders"][2])),
            "order 'W-3': 1 upper blow of row 7, copy 1 has two plates",
        ),
    ],
)
def test_a_document_that_is_no_plan_gives_one_clear_line(tmp_path, text, said):
    assert said in line_of(read_reservations, write(tmp_path, "plan.json", text))
