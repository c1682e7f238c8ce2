import time
from dataclasses import replace
from datetime import date
from decimal import Decimal
from random import Random

import pytest

from combwright.allocation.stock import Bin, Part
from combwright.comb.default_comb import default_comb
from combwright.files.parts import read_parts
from combwright.files.rack import read_expected, read_rack, slots_beyond
from files.written import RACK, line_of, lines_of, write, write_xlsx

GOOD = "A-01,C4,-2.5,14.2,front,b1,12,1.80"


def rack(tmp_path, *rows, header=RACK):
    return write(tmp_path, "rack.csv", "\n".join((header, *rows)) + "\n")


def test_a_rack_reads_every_column(tmp_path):
    path = rack(
        tmp_path,
        "A-01,C4,-2.5,14.2,front,b1,12,1.80,1,A/1,yes",
        "A-02,Db5+3.5,,12,Rear,,0,,,,",
        header=f"{RACK},cut,walk,held",
    )
    assert read_rack(path).value == (
        Bin("A-01", 60, -2.5, 14.2, "front", "b1", 12, Decimal("1.80"), "A/1", "1", True),
        Bin("A-02", 73, 3.5, 12.0, "rear", "", 0),
    )


def test_a_rack_needs_no_more_than_five_columns(tmp_path):
    path = rack(tmp_path, "A-01,C4,14.2,front,3", header="bin,pitch,slot_mm,mount,count")
    assert read_rack(path).value == (Bin("A-01", 60, 0.0, 14.2, "front", "", 3),)


@pytest.mark.parametrize("missing", ["bin", "pitch", "slot_mm", "mount", "count"])
def test_a_missing_column_is_named(tmp_path, missing):
    header = ",".join(name for name in RACK.split(",") if name != missing)
    assert f"lacks the column {missing}; it names" in line_of(
        read_rack, rack(tmp_path, header=header)
    )


def test_a_rack_without_rows_is_an_empty_rack(tmp_path):
    assert read_rack(rack(tmp_path)).value == ()


def test_a_german_rack_reads_the_same(tmp_path):
    text = "bin;pitch;cents;slot_mm;mount;batch;count;cost\nA-01;A4-2,5;;14,2;front;b1;12;1,80\n"
    assert read_rack(write(tmp_path, "rack.csv", text)).value == (
        Bin("A-01", 69, -2.5, 14.2, "front", "b1", 12, Decimal("1.80")),
    )


def test_a_rack_in_a_workbook_reads_the_same(tmp_path):
    rows = [RACK.split(","), ["A-01", "C4", -2.5, 14.2, "front", "b1", 12.0, 1.8]]
    text = rack(tmp_path, "A-01,C4,-2.5,14.2,front,b1,12,1.8")
    assert read_rack(write_xlsx(tmp_path, rows)).value == read_rack(text).value


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (",C4,0,14.2,front,b1,1,1", "row 2, column bin: this cell is empty, but must be filled"),
        ("A,H4,0,14.2,front,b1,1,1", "row 2, column pitch: 'H4' is no note"),
        ("A,,0,14.2,front,b1,1,1", "row 2, column pitch: this cell is empty"),
        ("A,C4+3,2,14.2,front,b1,1,1", "row 2, column cents: '2' stands beside a pitch"),
        ("A,C4+3,0,14.2,front,b1,1,1", "row 2, column cents: '0' stands beside a pitch"),
        ("A,C4,700,14.2,front,b1,1,1", "row 2, column cents: 700 is out of range; -600 to 600"),
        ("A,C4+700,,14.2,front,b1,1,1", "row 2, column pitch: +700 cents are out of range"),
        ("A,C4,nan,14.2,front,b1,1,1", "row 2, column cents: 'nan' is no finite number"),
        ("A,C4,1e999,14.2,front,b1,1,1", "row 2, column cents: 1e999 is out of range"),
        ("A,C4,0,,front,b1,1,1", "row 2, column slot_mm: this cell is empty"),
        ("A,C4,0,0,front,b1,1,1", "column slot_mm: 0 is no length; write one above 0 and up to 60"),
        ("A,C4,0,-3,front,b1,1,1", "column slot_mm: -3 is no length"),
        ("A,C4,0,142,front,b1,1,1", "column slot_mm: 142 is no length; write one above 0 and up"),
        ("A,C4,0,inf,front,b1,1,1", "column slot_mm: 'inf' is no finite number"),
        ("A,C4,0,14.2,left,b1,1,1", "column mount: 'left' is not known here; write front or rear"),
        ("A,C4,0,14.2,,b1,1,1", "column mount: this cell is empty"),
        ("A,C4,0,14.2,front,b1,-1,1", "column count: -1 is out of range; 0 to 1,000,000"),
        ("A,C4,0,14.2,front,b1,1.5,1", "column count: 1.5 is no whole number"),
        ("A,C4,0,14.2,front,b1,,1", "column count: this cell is empty"),
        ("A,C4,0,14.2,front,b1,1,-1", "column cost: -1 is out of range"),
        ("A,C4,0,14.2,front,b1,1,1e99", "column cost: 1e99 is out of range"),
        ("A\u200b,C4,0,14.2,front,b1,1,1", "column bin: 'A\\u200b' holds a character that cannot"),
        ("A" * 101 + ",C4,0,14.2,front,b1,1,1", "100 characters are the most"),
    ],
)
def test_a_wrong_cell_is_named_with_its_row_and_column(tmp_path, row, said):
    assert said in line_of(read_rack, rack(tmp_path, row))


def test_a_bin_that_stands_twice_is_named_with_both_rows(tmp_path):
    line = line_of(read_rack, rack(tmp_path, GOOD, GOOD.replace("A-01", "B-01"), GOOD))
    assert line == (
        "rack.csv, row 4, column bin: bin 'A-01' stands in row 2 already; give each bin one row."
    )


def test_held_is_yes_or_no_in_several_words(tmp_path):
    words = {
        "yes": True,
        "No": False,
        "TRUE": True,
        "false": False,
        "1": True,
        "0": False,
        "": False,
    }
    rows = [f"{n},C4,14.2,front,1,{word}" for n, word in enumerate(words)]
    path = rack(tmp_path, *rows, header="bin,pitch,slot_mm,mount,count,held")
    assert [each.held for each in read_rack(path).value] == list(words.values())
    path = rack(tmp_path, "A,C4,14.2,front,1,maybe", header="bin,pitch,slot_mm,mount,count,held")
    assert "column held: 'maybe' is neither yes nor no" in line_of(read_rack, path)


def test_a_cost_is_exact_and_no_finer_than_six_decimals(tmp_path):
    rows = [f"{n},C4,0,14.2,front,b,1,{cost}" for n, cost in enumerate(["0.1", "0.12345678", "-0"])]
    costs = [each.cost for each in read_rack(rack(tmp_path, *rows)).value]
    assert [str(cost) for cost in costs] == ["0.1", "0.123457", "0"]


def test_a_slot_longer_than_any_chamber_is_a_warning_and_no_error(tmp_path):
    comb = default_comb()  # its longest chamber is 17.0 mm, less 0.2 at the end
    rows = ["A-01,C4,0,16.8,front,b,1,1", "A-02,C4,0,16.81,front,b,1,1"]
    path = rack(tmp_path, *rows)
    read = read_rack(path, comb)
    assert len(read.value) == 2
    assert read.warnings == (
        "rack.csv, row 3: bin A-02: the slot of 16.81 mm is longer than any chamber of "
        "'Ten-chamber comb' takes; the longest, hole 1, takes 16.8 mm.",
    )
    assert read_rack(path).warnings == ()


def test_many_long_slots_are_named_up_to_fifty_and_counted():
    long = Bin("A", 60, 0, 20.0, "front", "", 1)
    lines = slots_beyond([replace(long, code=str(n)) for n in range(70)], default_comb())
    assert lines[0].startswith("Bin 0: the slot of 20 mm is longer")
    assert (len(lines), lines[-1]) == (51, "Rack: and 20 more bins with longer slots.")


def test_a_rack_of_a_hundred_thousand_rows_is_read_in_seconds(tmp_path):
    draw = Random(1)
    rows = (
        f"A-{n},{draw.choice('CDEFGAB')}{draw.randint(3, 6)},{draw.uniform(-20, 20):.2f},"
        f"{draw.uniform(10, 16):.2f},front,b{n % 50},{n % 20},{draw.uniform(1, 4):.2f}"
        for n in range(100_000)
    )
    path = rack(tmp_path, *rows)
    start = time.process_time()
    assert len(read_rack(path).value) == 100_000
    assert time.process_time() - start < 5  # about 1.2 s on an idle machine


def expected(tmp_path, *rows):
    return write(tmp_path, "expected.csv", "\n".join((f"{RACK},arrives", *rows)) + "\n")


def test_expected_receipts_are_bins_with_a_day_of_arrival(tmp_path):
    row = "C4,0,14.2,front,b1,12,1.80,2031-05-0"
    path = expected(tmp_path, f",{row}1", f"E,{row}2", f"expected-2,{row}3", f",{row}4")
    found = read_expected(path, {"A-01", "expected-1"}).value
    # Names that the rack or another row has taken are passed over.
    assert [each.code for each in found] == ["expected-3", "E", "expected-2", "expected-4"]
    assert [each.arrives for each in found] == [date(2031, 5, n) for n in range(1, 5)]


def test_expected_receipts_need_no_bin_column(tmp_path):
    text = "pitch,slot_mm,mount,count,arrives\nC4,14.2,front,3,2031-05-01\n"
    found = read_expected(write(tmp_path, "expected.csv", text), ()).value
    assert found == (Bin("expected-1", 60, 0.0, 14.2, "front", "", 3, arrives=date(2031, 5, 1)),)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("A-01,C4,0,14.2,front,b,1,1,2031-05-01", "'A-01' is a bin of the rack already"),
        ("B,C4,0,14.2,front,b,1,1,", "column arrives: this cell is empty"),
        ("B,C4,0,14.2,front,b,1,1,1.5.2031", "column arrives: '1.5.2031' is no date"),
        ("B,C4,0,14.2,front,b,1,1,2031-02-30", "column arrives: '2031-02-30' is no date"),
        ("B,C4,0,14.2,front,b,1,1,20310501", "column arrives: '20310501' is no date"),
    ],
)
def test_a_wrong_receipt_is_named(tmp_path, row, said):
    assert said in line_of(read_expected, expected(tmp_path, row), {"A-01"})


def test_parts_are_counted_by_name(tmp_path):
    path = write(tmp_path, "parts.csv", "part,count,cost\ncover,24,3.50\nscrew,400,\n")
    assert read_parts(path).value == {
        "cover": Part("cover", 24, Decimal("3.50")),
        "screw": Part("screw", 400),
    }


def test_wrong_parts_are_named_all_at_once(tmp_path):
    path = write(tmp_path, "parts.csv", "part,count,cost\ncover,-1,3\ncover,2,x\n,1,1\n")
    assert [line.split(": ", 1)[0] for line in lines_of(read_parts, path)] == [
        "parts.csv, row 2, column count",
        "parts.csv, row 3, column part",
        "parts.csv, row 3, column cost",
        "parts.csv, row 4, column part",
    ]
