"""`combwright plan` on the example set: its document, and what its options do."""

import csv
import json
import tomllib
from collections import Counter
from datetime import date

import pytest

from cli.commands import combwright, combwright_apart, listing
from cli.pitches import midi
from cli.shapes import NUMBER, check_shape

PLATE = {
    "wanted": str, "wanted_cents": float, "bin": str, "batch": str, "retune_cents": float,
    "way": {"none", "file", "weight"},
}  # fmt: skip
SEAT = {
    "hole": int, "deck": {"upper", "lower"}, "breath": {"blow", "draw"}, "facing": {"in", "out"},
    **PLATE,
}  # fmt: skip
SHORTAGE = {
    "missing": int, "pitches": [str], "holes": [int], "parts": [str], "orders": [str], "text": str,
}  # fmt: skip
#: The contract's keys; row and copy of a plate, and of an order in parts, and `arrives` are ours.
PLAN = {
    "schema": {1},
    "proven": bool,
    "value": NUMBER,
    "value_bound": NUMBER,
    "gap": NUMBER,
    "cost": NUMBER,
    "cost_bound": NUMBER,
    "orders": [
        {
            "order": str,
            "row?": int,
            "copy?": int,
            "ready": bool,
            "cost": (NUMBER, None),
            "instruments": [{"row": int, "copy": int, "seats": [SEAT]}],
            "plates": [{"for": str, "row": int, "copy": int, **PLATE}],
            "arrives?": str,
        }
    ],
    "shortages": [SHORTAGE],
}
FILES = ("rack.csv", "orders.csv")
WITH = ("--comb", "comb.toml", "--workshop", "workshop.toml", "--parts", "parts.csv")


def table(folder, name):
    with (folder / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def plates_of(order):
    return [seat for made in order["instruments"] for seat in made["seats"]] + order["plates"]


def all_plates(document):
    return [plate for order in document["orders"] for plate in plates_of(order)]


@pytest.fixture(scope="module")
def answer(example_set):
    return combwright_apart("plan", *FILES, *WITH, "--json", cwd=example_set)


@pytest.fixture(scope="module")
def planned(answer):
    return answer.document


def test_standard_output_holds_one_document_and_nothing_else(answer, planned):
    assert answer.err == ""
    assert answer.out == json.dumps(planned, indent=1) + "\n"


def test_the_document_has_the_keys_and_types_of_the_contract(planned):
    check_shape(planned, PLAN)
    assert planned["proven"]
    assert planned["value"] == planned["value_bound"]
    assert planned["gap"] == 0


def test_orders_that_wait_have_no_cost_and_empty_lists_and_are_no_failure(planned):
    waiting = [order for order in planned["orders"] if not order["ready"]]
    assert {order["order"] for order in waiting} == {"W-004", "W-005"}
    for order in waiting:
        assert (order["cost"], order["instruments"], order["plates"]) == (None, [], [])
    assert {name for short in planned["shortages"] for name in short["orders"]} == {
        "W-004", "W-005"
    }  # fmt: skip


def test_orders_come_in_the_order_of_the_file_an_order_in_parts_once_a_copy(planned):
    assert [(order["order"], order.get("copy")) for order in planned["orders"]] == [
        ("W-001", None), ("W-002", None), ("W-003", None), ("W-004", 1), ("W-004", 2),
        ("W-005", None),
    ]  # fmt: skip


def test_a_retune_is_the_wanted_pitch_less_the_bins_own(example_set, planned):
    bins = {row["bin"]: row for row in table(example_set, "rack.csv")}
    limits = tomllib.loads((example_set / "workshop.toml").read_text())["retune"]
    for plate in all_plates(planned):
        row = bins[plate["bin"]]
        have = 100 * midi(row["pitch"]) + float(row["cents"] or 0)
        want = 100 * midi(plate["wanted"]) + plate["wanted_cents"]
        assert plate["retune_cents"] == pytest.approx(want - have, abs=0.0011)
        assert plate["batch"] == row["batch"]
        filed = abs(plate["retune_cents"]) > limits["free_cents"]
        assert plate["way"] == ("file" if filed else "none")
        assert -limits["lower_most_cents"] <= plate["retune_cents"] <= limits["raise_most_cents"]


def test_a_seat_says_how_its_reed_lies(planned):
    for made in (made for order in planned["orders"] for made in order["instruments"]):
        assert len(made["seats"]) == 20
        for seat in made["seats"]:
            assert seat["facing"] == {"blow": "in", "draw": "out"}[seat["breath"]]


def test_costs_add_up_from_the_files_prices(example_set, planned):
    plate = {row["bin"]: float(row["cost"]) for row in table(example_set, "rack.csv")}
    part = {row["part"]: float(row["cost"]) for row in table(example_set, "parts.csv")}
    uses = tomllib.loads((example_set / "comb.toml").read_text())["parts"]
    retune = tomllib.loads((example_set / "workshop.toml").read_text())["retune"]
    built = sum(part[name] * count for name, count in uses.items())
    for order in planned["orders"]:
        if order["ready"]:
            plates = plates_of(order)
            filed = [abs(each["retune_cents"]) for each in plates if each["way"] == "file"]
            labour = sum(retune["fixed"] + retune["each_cent"] * cents for cents in filed)
            cost = sum(plate[each["bin"]] for each in plates) + labour
            cost += built * len(order["instruments"])
            assert order["cost"] == pytest.approx(cost, abs=0.001)
    total = sum(order["cost"] or 0 for order in planned["orders"])
    assert planned["cost"] == pytest.approx(total, abs=1e-6)
    assert planned["cost_bound"] <= planned["cost"]


def test_no_bin_gives_more_than_it_holds_and_a_held_one_nothing(example_set, planned):
    taken = Counter(plate["bin"] for plate in all_plates(planned))
    for row in table(example_set, "rack.csv"):
        assert taken[row["bin"]] <= (0 if row["held"] == "yes" else int(row["count"]))


def test_the_words_for_people_say_what_the_document_says(example_set, planned):
    out = combwright("plan", *FILES, *WITH, cwd=example_set).out
    ready = [order for order in planned["orders"] if order["ready"]]
    assert f"{len(ready)} of {len(planned['orders'])} orders can be built in full now." in out
    assert f"They take {len(all_plates(planned))} plates" in out
    assert f"Value {planned['value']}: proven" in out
    assert f"Cost {planned['cost']:.2f} EUR" in out
    for order in ready:
        assert f"{order['cost']:.2f} EUR" in out
    for short in planned["shortages"]:
        assert short["text"] in out


def test_a_plan_given_back_moves_nothing(shop, planned):
    (shop / "plan.json").write_text(json.dumps(planned))
    again = combwright("plan", *FILES, *WITH, "--keep", "plan.json", "--json", cwd=shop).document
    assert again == planned


def test_a_plan_without_parts_counts_none(example_set, planned):
    asked = ["--comb", "comb.toml", "--workshop", "workshop.toml", "--json"]
    document = combwright("plan", *FILES, *asked, cwd=example_set).document
    assert document["value"] == planned["value"]
    assert document["cost"] < planned["cost"]


def test_plates_on_their_way_serve_what_is_due_after_they_come(example_set):
    asked = [*FILES, *WITH, "--expect", "expected.csv"]
    document = combwright("plan", *asked, "--json", cwd=example_set).document
    check_shape(document, PLAN)
    assert all(order["ready"] for order in document["orders"])
    arrives = {row["bin"]: row["arrives"] for row in table(example_set, "expected.csv")}
    arrives |= {"expected-1": arrives[""], "expected-2": arrives[""]}  # the bins without a name
    due = {row["order"]: row["due"] for row in table(example_set, "orders.csv")}
    late = [order for order in document["orders"] if "arrives" in order]
    assert {order["order"] for order in late} == {"W-004", "W-005"}
    for order in late:
        last = max(arrives.get(plate["bin"], "") for plate in plates_of(order))
        assert order["arrives"] == date.fromisoformat(last).isoformat()
        assert order["arrives"] <= due[order["order"]]
    out = combwright("plan", *asked, cwd=example_set).out
    assert "complete when plates arrive on 2027-01-29" in out


def test_sheets_are_written_beside_the_document(shop):
    asked = [*FILES, *WITH, "--sheets", "new/sheets", "--json"]
    answer = combwright_apart("plan", *asked, cwd=shop)
    check_shape(answer.document, PLAN)
    assert answer.err == ""
    assert set(listing(shop / "new")) == {
        "sheets", "sheets/pick-list.pdf", "sheets/bin-labels.pdf", "sheets/order-labels.pdf",
        "sheets/build-W-001.pdf", "sheets/build-W-002.pdf", "sheets/build-W-003.pdf",
        "sheets/build-W-004-5-1.pdf",
    }  # fmt: skip


def test_people_are_told_where_the_sheets_are(shop):
    answer = combwright("plan", *FILES, *WITH, "--sheets", "sheets", cwd=shop)
    assert answer.out.splitlines()[-1].startswith("7 PDF files in sheets/: ")


def test_notes_go_to_standard_error(shop):
    rack = (shop / "rack.csv").read_text().splitlines()
    text = "\n".join([f"{rack[0]},colour", *(f"{line},red" for line in rack[1:])])
    (shop / "rack.csv").write_text(text)
    answer = combwright("plan", *FILES, *WITH, "--json", cwd=shop)
    check_shape(answer.document, PLAN)
    assert answer.err == "Note: rack.csv: not known and left out: column colour.\n"


def test_seconds_bound_the_search_and_the_answer_is_still_sound(example_set):
    document = combwright("plan", *FILES, *WITH, "--seconds", "0.1", "--json", cwd=example_set)
    check_shape(document.document, PLAN)
