"""What bad input gets: a clear line each, exit code 2, no traceback, and nothing written."""

import os
import re
from collections import Counter

import openpyxl
import pytest

from cli import pitches
from cli.commands import combwright, combwright_apart, listing
from cli.shapes import check_shape
from cli.test_plan import FILES, PLAN, WITH
from published import rows

RACK = "bin,pitch,cents,slot_mm,mount,batch,count,cost"
ORDERS = "order,quantity,key,layout,changes,kit,promised"


def rack(*lines):
    return "\n".join([RACK, *lines]) + "\n"


def orders(*lines):
    return "\n".join([ORDERS, *lines]) + "\n"


def refused(folder, *more):
    """Plan with sheets, which must be refused, and return the lines; nothing may be written."""
    before = listing(folder)
    answer = combwright("plan", *FILES, *WITH, *more, "--sheets", "sheets", "--json", cwd=folder)
    assert listing(folder) == before
    return answer.errors


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("rack.csv", rack("A,H4,0,14,front,b,1,2"), r"row 2, column pitch: 'H4' is no note: "),
        ("rack.csv", rack("A,C4,0,14,front,b,-1,2"), r"row 2, column count: -1 is out of range"),
        ("rack.csv", rack("A,C4,0,14,front,b,1.5,2"), r"row 2, column count: 1\.5 is no whole"),
        ("rack.csv", rack("A,C4,0,0,front,b,1,2"), r"row 2, column slot_mm: 0 is no length"),
        ("rack.csv", rack("A,C4,0,14,side,b,1,2"), r"column mount: 'side' .* front or rear"),
        ("rack.csv", rack("A,C4+3,2,14,front,b,1,2"), r"column cents: .* its own cents"),
        ("rack.csv", rack("A,C4,0,14,front,b,1,-2"), r"row 2, column cost: -2 is out of range"),
        ("rack.csv", "bin,pitch,slot_mm,count\nA,C4,14,1\n", r"header lacks the column mount"),
        ("rack.csv", "", r"rack\.csv has no header; its first row must name the columns: bin"),
        ("rack.csv", b"bin,pitch\nA,\xff\n", r"row 2, byte 3: the byte 0xff is not UTF-8"),
        ("rack.csv", b"PK\x03\x04broken", r"rack\.csv is a broken workbook"),
        ("orders.csv", orders("W,1,H,standard"), r"row 2, column key: 'H' is no key"),
        ("orders.csv", orders("W,1,C,ricther"), r"column layout: There is no layout 'ricther'"),
        ("orders.csv", orders("W,1,C,gone.toml"), r"column layout: There is no file gone\.toml"),
        ("orders.csv", orders("W,0,C,standard"), r"row 2, column quantity: 0 is out of range"),
        ("orders.csv", orders("W,1,C,standard,5 draw"), r"column changes: .* 5 draw=F#5"),
        ("orders.csv", orders("W,1,C,standard,,11 draw"), r"column kit: .*hole 11"),
        ("orders.csv", orders("W,1,C,standard,,,maybe"), r"column promised: 'maybe' is neither"),
        ("orders.csv", "order,key\nW,C\n", r"header lacks the column layout"),
        ("parts.csv", "part,count\ncover,-2\n", r"parts\.csv, row 2, column count: -2"),
        ("comb.toml", "title = \n", r"comb\.toml .*line 1"),
        ("comb.toml", "title = 'No holes'\n", r"comb\.toml: .*chamber"),
        ("workshop.toml", "[retune\n", r"workshop\.toml .*line 1"),
        ("workshop.toml", "[retune]\nfixed = 'much'\n", r"retune\.fixed: 'much' .* number"),
        ("workshop.toml", "[paper]\nsize = 'A3'\n", r"paper\.size: 'A3' .* A4 or letter"),
        ("layout.toml", "blow = [\n", r"row 6, column layout: layout\.toml is no sound TOML"),
        ("temperament.toml", "cents = [1]\n", r"row 4, column temperament: temperament\.toml: "),
    ],
)  # fmt: skip
def test_a_bad_file_gets_one_clear_line(shop, name, text, says):
    (shop / name).write_bytes(text if isinstance(text, bytes) else text.encode())
    (line,) = refused(shop)
    assert re.search(says, line)


def test_all_errors_of_a_table_are_told_at_once_each_with_row_and_column(shop):
    lines = ["A,H4,0,14,front,b,1,2", "B,C4,0,14,front,b,-1,2", "C,C4,0,14,front,b,1,2",
             "C,C4,0,long,front,b,1,2"]  # fmt: skip
    (shop / "rack.csv").write_text(rack(*lines))
    found = [re.match(r"rack\.csv, row (\d), column (\w+): ", line).groups()
             for line in refused(shop)]  # fmt: skip
    assert found == [("2", "pitch"), ("3", "count"), ("5", "bin"), ("5", "slot_mm")]


def test_a_bin_that_stands_twice_is_named_with_both_rows(shop):
    (shop / "rack.csv").write_text(rack("A,C4,0,14,front,b,1,2", "A,D4,0,14,front,b,1,2"))
    (line,) = refused(shop)
    assert line == "rack.csv, row 3, column bin: bin 'A' stands in row 2 already; " \
                   "give each bin one row."  # fmt: skip


def test_very_many_errors_are_counted_after_the_first_fifty(shop):
    (shop / "rack.csv").write_text(rack(*(f"B-{n},X,0,14,front,b,1,2" for n in range(400))))
    lines = refused(shop)
    assert len(lines) == 51
    assert lines[-1] == "rack.csv: and 350 more."


def workbook(folder, name, lines):
    book = openpyxl.Workbook()
    for line in lines:
        book.active.append(line)
    book.save(folder / name)


def numbered(text):
    try:
        return float(text)
    except ValueError:
        return text


def test_formulas_in_a_workbook_are_refused_cell_by_cell(shop):
    workbook(shop, "rack.csv", [RACK.split(","), ["A", "C4", 0, "=7+7", "front", "b", "=1", 2]])
    assert refused(shop) == [
        f"rack.csv, row 2, column {column}: a formula stands here; paste values instead."
        for column in ("slot_mm", "count")
    ]


def test_a_workbook_is_taken_wherever_a_table_is(shop):
    """The same plan comes of it; numbers in it are numbers."""
    usual = combwright("plan", *FILES, *WITH, "--json", cwd=shop)
    for stem in ("rack", "orders"):
        text = (shop / f"{stem}.csv").read_text().splitlines()
        lines = [[numbered(cell) for cell in line.split(",")] for line in text]
        workbook(shop, f"{stem}.xlsx", lines)
    answer = combwright("plan", "rack.xlsx", "orders.xlsx", *WITH, "--json", cwd=shop)
    assert answer.document == usual.document


def test_semicolons_and_decimal_commas_are_understood(shop):
    usual = combwright("plan", *FILES, *WITH, "--json", cwd=shop)
    for file in ("rack.csv", "orders.csv", "parts.csv"):
        text = (shop / file).read_text().replace(";", "|").replace(",", ";")
        head, *lines = text.splitlines()
        lines = [re.sub(r"(?<=\d)\.(?=\d)", ",", line) for line in lines]
        quoted = [re.sub(r"[^;]*\|[^;]*", lambda cell: f'"{cell[0]}"', line) for line in lines]
        (shop / file).write_text("\ufeff" + "\n".join([head, *quoted]).replace("|", ";"))
    assert "1,95" in (shop / "rack.csv").read_text()
    answer = combwright("plan", *FILES, *WITH, "--json", cwd=shop)
    assert (answer.document, answer.err) == (usual.document, "")


@pytest.mark.parametrize("name", ["rack.csv", "orders.csv", "parts.csv"])
def test_a_file_of_200_mb_is_refused_unread(shop, name):
    os.truncate(shop / name, 200 * 10**6)
    (line,) = refused(shop)
    assert re.fullmatch(rf"{re.escape(name)} has 190\.7 MiB and was not read; .* 64 MiB\.", line)


@pytest.mark.parametrize("name", ["rack.csv", "orders.csv", "parts.csv", "comb.toml"])
def test_a_file_that_is_not_there_or_is_a_folder_is_named(shop, name):
    (shop / name).unlink()
    assert refused(shop) == [f"There is no file {name}."]
    (shop / name).mkdir()
    assert refused(shop) == [f"{name} is a folder; name a file in it."]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no sound JSON"),
        ("{", "no sound JSON"),
        ("[" * 100_000, "no sound JSON"),
        ("{}", "is no plan: it has no orders"),
        ('{"schema": 2, "orders": []}', "has schema 2"),
        ('{"schema": 1, "orders": [{}]}', "'order' is missing"),
    ],
)
def test_a_file_to_keep_that_is_no_plan_is_refused(shop, text, says):
    (shop / "plan.json").write_text(text)
    (line,) = refused(shop, "--keep", "plan.json")
    assert says in line


def test_a_receipt_without_its_day_or_under_a_bin_of_the_rack_is_refused(shop):
    head = "bin,pitch,slot_mm,mount,count,arrives\n"
    lines = "A-01-01,C4,14,front,1,2027-01-01\n,C4,14,front,1,soon\n"
    (shop / "expected.csv").write_text(head + lines)
    bin_line, day_line = refused(shop, "--expect", "expected.csv")
    assert "'A-01-01' is a bin of the rack already" in bin_line
    assert "'soon' is no date; write YYYY-MM-DD" in day_line


def test_a_promise_that_cannot_be_kept_names_orders_pitches_and_holes(shop):
    """Three instruments want three plates of C4 each in hole 1; the rack has two."""
    notes = "D4 E4 G4 B4 C5 D5 E5 F5 G5 A5 C6 B5 E6 D6 G6 F6 C7 A6"
    lines = [f"B-{note},{note},0,9,front,b,9,2" for note in notes.split(" ")]
    (shop / "rack.csv").write_text(rack(*lines, "B-C4,C4,0,9,front,b,2,2"))
    (shop / "orders.csv").write_text(
        orders("W-7,2,C,standard,,,yes", "W-8,1,C,standard,,,yes", "W-9,1,C,standard,,,")
    )
    (line,) = refused(shop)
    assert "W-7 and W-8 cannot all be kept" in line
    assert "3 plates of pitch C4 that fit hole 1, and there are 2" in line
    assert "W-9" not in line
    (shop / "orders.csv").write_text(orders("W-7,1,C,standard,,,yes", "W-8,1,C,standard,,,yes"))
    assert combwright("plan", *FILES, cwd=shop).code == 0


def test_the_real_command_refuses_the_same_way(shop):
    """In a process of its own, where a traceback would be seen."""
    (shop / "rack.csv").write_text(rack("A,H4,0,14,front,b,1,2", "A,C4,0,14,front,b,1,2"))
    before = listing(shop)
    lines = combwright_apart("plan", *FILES, "--sheets", "sheets", cwd=shop).errors
    assert [line[:31] for line in lines] == [
        "rack.csv, row 2, column pitch: ", "rack.csv, row 3, column bin: bi"
    ]  # fmt: skip
    assert listing(shop) == before


def test_a_slot_longer_than_any_chamber_is_a_note_that_names_the_bin(shop):
    with (shop / "rack.csv").open("a") as file:
        file.write("Z-99,C4,0,17,front,plain,1,0.01,,Z-99,\n")
    answer = combwright("plan", *FILES, *WITH, "--json", cwd=shop)
    check_shape(answer.document, PLAN)
    (note,) = answer.err.splitlines()
    assert re.match(
        r"Note: Bin Z-99: the slot of 17 mm is longer than any chamber of 'Example", note
    )
    checked = combwright("check", "rack.csv", "--comb", "comb.toml", cwd=shop)
    assert checked.code == 0
    assert re.match(r"Note: rack\.csv, row 48: bin Z-99: the slot of 17 mm", checked.err)


def test_a_long_slot_is_not_noted_when_an_order_is_built_on_a_comb_that_takes_it(shop):
    with (shop / "rack.csv").open("a") as file:
        file.write("Z-99,C4,0,17,front,plain,1,0.01,,Z-99,\n")
    long = (shop / "comb.toml").read_text().replace("length_mm = 17.1", "length_mm = 18")
    (shop / "long.toml").write_text(long)
    (shop / "orders.csv").write_text("order,key,layout,comb\nW,C,standard,long.toml\n")
    answer = combwright("plan", *FILES, *WITH, "--json", cwd=shop)
    assert answer.err == ""
    (order,) = answer.document["orders"]
    assert order["instruments"][0]["seats"][0]["bin"] == "Z-99"  # the cheapest C4


def test_an_empty_rack_is_a_result_every_order_waits(shop):
    (shop / "rack.csv").write_text(RACK + "\n")
    (shop / "orders.csv").write_text(orders("W-7,2,C,standard", "W-8,1,A,standard"))
    answer = combwright("plan", *FILES, *WITH, "--sheets", "sheets", "--json", cwd=shop)
    document = answer.document
    check_shape(document, PLAN)
    assert [order["ready"] for order in document["orders"]] == [False, False]
    assert (document["value"], document["cost"], document["proven"]) == (0, 0, True)
    assert {name for short in document["shortages"] for name in short["orders"]} == {"W-7", "W-8"}
    steps = [int(row[breath]) for row in rows("oeis_a291810.csv") for breath in ("blow", "draw")]
    wanted = Counter(map(pitches.name, [60 + step for step in steps * 2] + [57 + s for s in steps]))
    for short in document["shortages"]:
        assert short["missing"] == sum(wanted[pitch] for pitch in short["pitches"])
    assert set(listing(shop / "sheets")) == {"pick-list.pdf"}
    assert "0 of 2 orders" in combwright("plan", *FILES, cwd=shop).out
    assert not combwright("can", "rack.csv", "--json", cwd=shop).document["can"]
    seats = combwright("fit", "rack.csv", "comb.toml", "--json", cwd=shop).document["seats"]
    assert {seat["bins"] for seat in seats} == {0}


def test_no_orders_at_all_are_a_result_too(shop):
    (shop / "orders.csv").write_text(ORDERS + "\n")
    document = combwright("plan", *FILES, *WITH, "--json", cwd=shop).document
    assert document == {
        "schema": 1, "proven": True, "value": 0, "value_bound": 0, "gap": 0.0, "cost": 0,
        "cost_bound": 0, "orders": [], "shortages": [],
    }  # fmt: skip
    out = combwright("plan", *FILES, *WITH, "--sheets", "sheets", cwd=shop).out
    assert out.startswith("0 of 0 orders can be built in full now.")
    assert set(listing(shop / "sheets")) == {"pick-list.pdf"}
