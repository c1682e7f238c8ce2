"""The demo as `make demo` runs it: what it says, and every sheet it prints, read back.

Nothing here knows what the plan should be; the sheets and the words must say what the plan's own
document says, and hertz must be those of equal temperament's formula [midi-tuning].
"""

import csv
import re
from collections import Counter

import pytest

from cli.commands import combwright_apart
from cli.pitches import midi
from journeys.read_back import codes_of, kit_rows, lines_of, pick_rows, seat_rows

pytestmark = pytest.mark.journey
MINUS = "\u2212"


@pytest.fixture(scope="module")
def day(tmp_path_factory):
    """The folder of a demo, and what the command said."""
    folder = tmp_path_factory.mktemp("day")
    return folder / "demo-shop", combwright_apart("demo", "demo-shop", cwd=folder)


@pytest.fixture(scope="module")
def sheets(day):
    return day[0] / "sheets"


@pytest.fixture(scope="module")
def said(day):
    return day[1].out


@pytest.fixture(scope="module")
def planned(day):
    files = ("rack.csv", "orders.csv", "--comb", "comb.toml", "--workshop", "workshop.toml",
             "--parts", "parts.csv")  # fmt: skip
    return combwright_apart("plan", *files, "--json", cwd=day[0]).document


@pytest.fixture(scope="module")
def ready(planned):
    return [order for order in planned["orders"] if order["ready"]]


def seats_of(order):
    return [seat for made in order["instruments"] for seat in made["seats"]]


def plates_of(order):
    return seats_of(order) + order["plates"]


def file_of(order):
    part = f"-{order['row']}-{order['copy']}" if "copy" in order else ""
    return f"build-{order['order']}{part}.pdf"


def number(text):
    return float(text.replace(MINUS, "-"))


def test_the_demo_runs_without_a_word_on_standard_error(day):
    assert (day[1].code, day[1].err) == (0, "")
    assert (day[0] / "rack.csv").exists()


def test_the_summary_counts_what_the_document_holds(said, planned, ready):
    plates = [plate for order in ready for plate in plates_of(order)]
    bins = {plate["bin"] for plate in plates}
    moved = sorted(abs(p["retune_cents"]) for p in plates if p["way"] != "none")
    assert f"{len(ready)} of {len(planned['orders'])} orders can be built in full now." in said
    assert f"They take {len(plates)} plates from {len(bins)} bins." in said
    middle = (moved[(len(moved) - 1) // 2] + moved[len(moved) // 2]) / 2
    line = re.search(r"(\d+) plates must be retuned: by (\S+) cents in the middle, (\S+) at", said)
    assert int(line[1]) == len(moved)
    assert float(line[2]) == pytest.approx(middle, abs=0.051)
    assert float(line[3]) == pytest.approx(moved[-1], abs=0.051)
    assert planned["proven"]
    assert f"Value {planned['value']}: proven, no plan can ship more." in said
    assert f"Cost {planned['cost']:.2f} EUR" in said
    assert f"costs less than {planned['cost_bound']:.2f}" in said


def test_the_summary_lists_every_order_as_ready_or_waiting(said, planned):
    ready_lines, waiting_lines = (
        [line for line in part.splitlines() if line.startswith("  W-")]
        for part in said.split("Waiting, and what each lacks")
    )
    for order in planned["orders"]:
        copy = f" (row {order['row']}, copy {order['copy']})" if "copy" in order else ""
        start = f"  {order['order']}{copy} "
        (line,) = [line for line in ready_lines + waiting_lines if line.startswith(start)]
        assert (line in ready_lines) == order["ready"]
        if order["ready"]:
            retuned = sum(plate["way"] != "none" for plate in plates_of(order))
            assert re.search(rf"\b{len(plates_of(order))} plates?, ", line)
            assert f" {order['cost']:.2f} EUR" in line
            assert (f", {retuned} retuned, " in line) == (retuned > 0)
        else:
            assert re.search(r"\d+ (plates? |of the part )", line)
    assert len(ready_lines) + len(waiting_lines) == len(planned["orders"])


def test_what_is_missing_most_is_told_in_the_documents_words(said, planned):
    after = said.split("What is missing most, over all open orders:\n")[1]
    texts = [short["text"] for short in planned["shortages"]]
    assert texts
    assert [line.strip() for line in after.split("\n\n")[0].splitlines()] == texts


def test_there_is_a_sheet_for_every_ready_order_and_no_other(said, sheets, ready):
    names = {"pick-list.pdf", "bin-labels.pdf", "order-labels.pdf", *map(file_of, ready)}
    assert len(names) == 3 + len(ready)
    assert {path.name for path in sheets.iterdir()} == names
    assert f"{len(names)} PDF files in demo-shop/sheets/" in said


def test_the_pick_list_takes_from_every_bin_of_the_plan_what_the_plan_takes(sheets, ready):
    rows = pick_rows(sheets / "pick-list.pdf")
    taken = Counter(plate["bin"] for order in ready for plate in plates_of(order))
    assert {row["bin"]: row["take"] for row in rows} == dict(taken)
    assert len(rows) == len(taken)
    total = 0
    for row in rows:
        total += row["take"]
        assert row["so_far"] == total
        mentioned = {order["order"] for order in ready
                     if any(plate["bin"] == row["bin"] for plate in plates_of(order))}  # fmt: skip
        assert set(re.findall(r"W-\d+", row["uses"])) == mentioned
    assert total == sum(len(plates_of(order)) for order in ready)


def test_the_pick_list_follows_the_walk_along_the_racks(day, sheets):
    rows = pick_rows(sheets / "pick-list.pdf")
    with (day[0] / "rack.csv").open() as file:
        rack = {row["bin"]: row for row in csv.DictReader(file)}
    walked = [
        [row["walk"][0], *(int(part) for part in re.findall(r"\d+", row["bin"]))] for row in rows
    ]
    assert walked == sorted(walked)
    for row in rows:
        assert row["walk"] == rack[row["bin"]]["walk"]
        assert row["note"] == rack[row["bin"]]["pitch"]


def test_every_build_sheet_says_seat_by_seat_what_the_plan_says(sheets, ready):
    for order in ready:
        rows = seat_rows(sheets / file_of(order))
        seats = sorted(
            ((made["row"], made["copy"]), seat["hole"], seat["deck"] == "lower", n)
            for made in order["instruments"]
            for n, seat in enumerate(made["seats"])
        )
        by_copy = {(made["row"], made["copy"]): made["seats"] for made in order["instruments"]}
        assert len(rows) == len(seats)
        assert len(rows) <= 20 * len(by_copy)
        for row, (copy, _hole, _deck, n) in zip(rows, seats, strict=True):
            seat = by_copy[copy][n]
            agree = {key: seat[key] for key in ("hole", "deck", "breath", "facing", "bin", "batch")}
            assert {key: row[key] for key in agree} == agree
            check_pitch(row, seat)


def test_every_build_sheet_lists_the_plates_that_go_along(sheets, ready):
    kits = 0
    for order in ready:
        rows = kit_rows(sheets / file_of(order))
        plates = [(plate["for"], plate["bin"], plate["batch"]) for plate in order["plates"]]
        assert [(row["for"], row["bin"], row["batch"]) for row in rows] == plates
        for row, plate in zip(rows, order["plates"], strict=True):
            check_pitch(row, plate)
        kits += len(rows)
    assert kits > 10


def check_pitch(row, plate):
    """Compare note, hertz, cents and retune; hertz from the formula, to the printed digit."""
    above_a4 = midi(plate["wanted"]) - 69 + plate["wanted_cents"] / 100
    assert row["note"] == plate["wanted"]
    assert float(row["hertz"]) == pytest.approx(440 * 2 ** (above_a4 / 12), abs=0.0051)
    assert number(row["cents"]) == pytest.approx(plate["wanted_cents"], abs=0.051)
    assert number(row["retune"]) == pytest.approx(plate["retune_cents"], abs=0.051)
    filed = "raise: file tip" if plate["retune_cents"] > 0 else "lower: file root"
    untouched = "as it is" if abs(number(row["retune"])) < 0.05 else "touch up"
    assert row["how"] == {"file": filed, "none": untouched}[plate["way"]]


def test_a_build_sheets_code_holds_the_orders_number(sheets, ready):
    for order in ready:
        first, *rest = codes_of(sheets / file_of(order))
        assert first == [order["order"]]
        assert not any(rest)
        assert lines_of(sheets / file_of(order))[1] == order["order"]


def test_every_bin_to_pick_from_has_one_label(sheets, ready):
    codes = [code for page in codes_of(sheets / "bin-labels.pdf") for code in page]
    bins = {plate["bin"] for order in ready for plate in plates_of(order)}
    assert sorted(codes) == sorted(bins)
    assert bins <= set(lines_of(sheets / "bin-labels.pdf"))


def test_every_copy_to_build_has_a_label_of_its_order(sheets, ready):
    codes = Counter(code for page in codes_of(sheets / "order-labels.pdf") for code in page)
    copies = Counter()
    for order in ready:
        made = {(each["row"], each["copy"]) for each in order["instruments"] + order["plates"]}
        copies[order["order"]] += len(made)
    assert codes == copies


def test_no_sheet_for_the_bench_or_the_racks_says_what_an_order_is_worth(sheets):
    for path in sheets.iterdir():
        assert not [line for line in lines_of(path) if "EUR" in line]
