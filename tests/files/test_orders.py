import time
from datetime import date
from decimal import Decimal

import pytest

from combwright.allocation.orders import Copy, wants_of
from combwright.comb.catalogue import catalogue_layout
from combwright.comb.default_comb import default_comb
from combwright.files import orders as orders_module
from combwright.files.combs import comb_toml
from combwright.files.orders import read_orders
from combwright.notes.keys import parse_key
from combwright.notes.names import parse_midi
from combwright.notes.temperament import named_temperament
from files.written import line_of, lines_of, write

COMB = default_comb()
ALL = (
    "order,what,quantity,key,layout,changes,kit,temperament,a4,comb,"
    "due,priority,value,promised,split"
)


def orders(tmp_path, *rows, header=ALL):
    return write(tmp_path, "orders.csv", "\n".join((header, *rows)) + "\n")


def read(path, **options):
    return read_orders(path, comb=COMB, **options)


def test_an_order_needs_no_more_than_a_number_a_key_and_a_layout(tmp_path):
    (order,) = read(orders(tmp_path, "W-1,C,standard", header="order,key,layout")).value
    equal = named_temperament("equal")
    assert (order.name, order.value, order.priority, order.promised, order.due, order.split) == (
        "W-1", Decimal(1), 5, False, None, False,
    )  # fmt: skip
    (copy,) = order.copies
    assert (copy.row, copy.copy) == (2, 1)
    assert copy.design.seats == wants_of(catalogue_layout("standard"), COMB, equal, tonic=0)
    assert copy.design.kit == ()
    assert copy.design.parts == COMB.parts


def test_key_changes_temperament_and_pitch_standard_reach_every_seat(tmp_path):
    row = "W-1,,,A,standard,5 draw=D#5,5 draw; 5 draw=D5+2,7-limit,442,,,,,,"
    (order,) = read(orders(tmp_path, row)).value
    design = order.copies[0].design
    # In A the standard 5 draw, F5 in C, sounds D5; raised it is D#5. A4 = 442 Hz adds 7.851 cents;
    # from the tonic A the fourth D has -29.219 cents and the tritone D# -9.776 (7-limit).
    fifth = next(want for want in design.seats if (want.hole, want.breath) == (5, "draw"))
    assert (fifth.note, fifth.cents) == ("D#5", pytest.approx(7.851 - 9.776, abs=0.002))
    assert [(each.label, each.want.note) for each in design.kit] == [
        ("5 draw", "D#5"),
        ("5 draw", "D5"),
    ]
    assert design.kit[1].want.cents == pytest.approx(7.851 - 29.219 + 2, abs=0.002)
    assert design.kit[0].want == fifth


def test_loose_plates_are_only_the_kit(tmp_path):
    row = "W-1,plates,2,C,standard,,5 draw; 4 draw,,,,,,,,"
    (order,) = read(orders(tmp_path, row)).value
    design = order.copies[0].design
    assert len(order.copies) == 2
    assert (design.seats, dict(design.parts)) == ((), {})
    assert [each.want.midi for each in design.kit] == [parse_midi("F5"), parse_midi("D5")]


def test_rows_of_one_order_ship_together_and_add_their_value(tmp_path):
    path = orders(
        tmp_path,
        "W-1,,2,C,standard,,,,,,2031-05-01,2,10,,",
        "W-2,,,C,standard,,,,,,,,,,",
        "W-1,,3,G,country,,,,,,,,1.5,yes,no",
    )
    first, second = read(path).value
    assert (first.name, second.name) == ("W-1", "W-2")
    assert first.value == Decimal("24.5")  # twice 10 and three times 1.5
    assert (first.due, first.priority, first.promised) == (date(2031, 5, 1), 2, True)
    assert [(c.row, c.copy) for c in first.copies] == [(2, 1), (2, 2), (4, 1), (4, 2), (4, 3)]
    assert second.copies == (Copy(3, 1, first.copies[0].design),)


def test_an_order_that_may_ship_in_parts_comes_once_a_copy(tmp_path):
    path = orders(tmp_path, "W-1,,2,C,standard,,,,,,,3,7,,yes", "W-1,,1,G,standard,,,,,,,,2,,yes")
    found = read(path).value
    assert [(o.name, o.split, o.value, o.priority) for o in found] == [
        ("W-1", True, Decimal(7), 3),
        ("W-1", True, Decimal(7), 3),
        ("W-1", True, Decimal(2), 3),
    ]
    assert [(o.copies[0].row, o.copies[0].copy) for o in found] == [(2, 1), (2, 2), (3, 1)]


def test_equal_wishes_share_one_design_and_like_ones_their_seats(tmp_path):
    path = orders(
        tmp_path,
        "W-1,,,C,standard,5 draw=F#5,,,,,,,,,",
        "W-2,,,c,richter,5 draw=F#5,,equal,440,,,,,,",
        "W-3,,,C,standard,5 draw=F#5,5 draw,,,,,,,,",
    )
    one, two, three = (order.copies[0].design for order in read(path).value)
    assert three.seats is one.seats
    assert one == two
    same = orders(tmp_path, *[f"W-{n},,2,C,standard,5 draw=F#5,,,,,,,,," for n in range(9)])
    designs = {id(copy.design) for order in read(same).value for copy in order.copies}
    assert len(designs) == 1


@pytest.mark.parametrize(
    ("first", "second", "column"),
    [
        ("W-1,,,C,standard,,,,,,,3,,,", "W-1,,,C,standard,,,,,,,4,,,", "priority"),
        ("W-1,,,C,standard,,,,,,2031-01-01,,,,", "W-1,,,C,standard,,,,,,2031-01-02,,,,", "due"),
        ("W-1,,,C,standard,,,,,,,,,yes,", "W-1,,,C,standard,,,,,,,,,no,", "promised"),
        ("W-1,,,C,standard,,,,,,,,,,yes", "W-1,,,C,standard,,,,,,,,,,no", "split"),
        ("W-1,,,C,standard,,,,,,,,,,yes", "W-1,,,C,standard,,,,,,,,,,", "split"),
        ("W-1,,,C,standard,,,,,,,,,,", "W-1,,,C,standard,,,,,,,,,,yes", "split"),
    ],
)
def test_rows_of_one_order_that_disagree_are_named_both(tmp_path, first, second, column):
    line = line_of(read, orders(tmp_path, first, "W-2,,,C,standard,,,,,,,,,,", second))
    assert line.startswith(f"orders.csv, row 4, column {column}: order 'W-1' has ")
    assert line.endswith(" in row 2; its rows must agree.")


def test_an_empty_cell_agrees_with_any(tmp_path):
    path = orders(
        tmp_path,
        "W-1,,,C,standard,,,,,,,,,,",
        "W-1,,,C,standard,,,,,,2031-01-02,4,,yes,",
        "W-1,,,C,standard,,,,,,,,,,",
    )
    (order,) = read(path).value
    assert (order.due, order.priority, order.promised) == (date(2031, 1, 2), 4, True)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (",,,C,standard,,,,,,,,,,", "column order: this cell is empty"),
        ("W,,,,standard,,,,,,,,,,", "column key: this cell is empty"),
        ("W,,,C,,,,,,,,,,,", "column layout: this cell is empty"),
        (
            "W,thing,,C,standard,,,,,,,,,,",
            "column what: 'thing' is not known here; write instrument",
        ),
        ("W,,0,C,standard,,,,,,,,,,", "column quantity: 0 is out of range; 1 to 10,000"),
        ("W,,1.5,C,standard,,,,,,,,,,", "column quantity: 1.5 is no whole number"),
        ("W,,10001,C,standard,,,,,,,,,,", "column quantity: 10001 is out of range"),
        ("W,,,H,standard,,,,,,,,,,", "column key: 'H' is no key"),
        ("W,,,C,standrad,,,,,,,,,,", "column layout: There is no layout 'standrad'"),
        ("W,,,C,none.toml,,,,,,,,,,", "column layout: There is no file "),
        ("W,,,C,standard,5 draw,,,,,,,,,", "column changes: '5 draw'"),
        ("W,,,C,standard,11 draw=C5,,,,,,,,,", "column changes: '11 draw=C5'"),
        ("W,,,C,standard,,11 draw,,,,,,,,", "column kit: '11 draw'"),
        ("W,,,C,standard,5 draw=none,5 draw,,,,,,,,", "column kit: '5 draw'"),
        (
            "W,plates,,C,standard,,,,,,,,,,",
            "column kit: loose plates are wanted, but none is named",
        ),
        ("W,,,C,standard,,,8-limit,,,,,,,", "column temperament: '8-limit' is no temperament"),
        ("W,,,C,standard,,,,400,,,,,,", "column a4: A4 at 400 Hz is out of range"),
        ("W,,,C,standard,,,,nan,,,,,,", "column a4: 'nan' is no finite number"),
        ("W,,,C,standard,,,,,none.toml,,,,,", "column comb: There is no file "),
        ("W,,,C,standard,,,,,,30.4.2031,,,,", "column due: '30.4.2031' is no date"),
        ("W,,,C,standard,,,,,,,0,,,", "column priority: 0 is out of range"),
        ("W,,,C,standard,,,,,,,,-1,,", "column value: -1 is out of range"),
        ("W,,,C,standard,,,,,,,,,perhaps,", "column promised: 'perhaps' is neither yes nor no"),
        ("W,,,C,standard,,,,,,,,,,x", "column split: 'x' is neither yes nor no"),
    ],
)
def test_a_wrong_cell_is_named_with_its_row_and_column(tmp_path, row, said):
    line = line_of(read, orders(tmp_path, row))
    assert line.startswith("orders.csv, row 2, ")
    assert said in line


def test_every_wrong_cell_of_every_row_is_told_at_once(tmp_path):
    path = orders(
        tmp_path,
        "W-1,,x,H,nolayout,,,8-limit,400,,someday,0,-1,maybe,maybe",
        "W-2,plates,,C,standard,12 draw=C5,,,,,,,,,",
    )
    assert len(lines_of(read, path)) == 11


def test_files_are_found_beside_the_orders(tmp_path):
    folder = tmp_path / "shop"
    folder.mkdir()
    notes = ", ".join('"C4"' for _ in range(4))
    write(folder, "four.toml", f"title = 'Four'\ncolour = 1\nblow = [{notes}]\n")
    write(folder, "mine.toml", "cents = [0, 0, 0, 0, 0, 0, 0, 2.5, 0, 0, 0, 0]\n")
    write(folder, "comb.toml", comb_toml(COMB).replace("Ten-chamber", "Other"))
    path = orders(folder, "W-1,,,G,four.toml,,,mine.toml,,comb.toml,,,,,")
    read_it = read(path)
    wants = read_it.value[0].copies[0].design.seats
    assert [(want.hole, want.note, want.cents) for want in wants] == [
        (hole, "G3", 0.0) for hole in range(1, 5)
    ]
    assert read_it.warnings == ("four.toml: not known and left out: colour.",)


def test_a_bad_file_named_in_many_rows_is_read_once(tmp_path, monkeypatch):
    write(tmp_path, "bad.toml", "blow = ['H4']")
    reads = []
    real = orders_module.look_up_layout
    monkeypatch.setattr(
        orders_module, "look_up_layout", lambda *each: reads.append(each) or real(*each)
    )
    lines = lines_of(read, orders(tmp_path, *["W,,,C,bad.toml,,,,,,,,,,"] * 3))
    assert (len(lines), len(reads)) == (3, 1)
    assert all("column layout: bad.toml: blow: 'H4' is no note" in line for line in lines)


def test_a_layout_beyond_the_comb_is_named(tmp_path):
    write(tmp_path, "long.toml", f"blow = {['C4'] * 12}")
    line = line_of(read, orders(tmp_path, "W-1,,,C,long.toml,,,,,,,,,,"))
    assert "row 2, column layout: Layout 'long' has a reed in hole 11, but comb" in line
    line = line_of(read, orders(tmp_path, "W-1,plates,,C,long.toml,,12 blow,,,,,,,,"))
    assert "row 2, column kit: There is no hole 12" in line


def test_a_key_that_moves_a_note_out_of_range_is_named(tmp_path):
    write(tmp_path, "high.toml", "blow = ['G9']")
    line = line_of(read, orders(tmp_path, "W-1,,,D,high.toml,,,,,,,,,,"))
    assert "row 2, column key: the key D moves 1 blow of 'high' out of the range" in line


def test_too_many_copies_in_all_are_refused(tmp_path):
    path = orders(tmp_path, *[f"W-{n},,10000,C,standard,,,,,,,,,," for n in range(101)])
    assert "there are more than 1,000,000 copies in all" in line_of(read, path)


def test_german_orders_read_the_same(tmp_path):
    text = (
        'order;key;layout;changes;a4;value\nW-1;C;standard;"5 draw=F#5+1,5; 3 blow=A4";442,5;2,5\n'
    )
    (german,) = read(write(tmp_path, "g.csv", text)).value
    text = "order,key,layout,changes,a4,value\nW-1,C,standard,5 draw=F#5+1.5; 3 blow=A4,442.5,2.5\n"
    (english,) = read(write(tmp_path, "e.csv", text)).value
    assert german == english


def test_fifty_thousand_orders_are_read_in_seconds_and_share_their_designs(tmp_path):
    keys = ("G", "A", "C", "D", "F")
    path = orders(
        tmp_path,
        *(f"W-{n},,,{keys[n % 5]},standard,,,,,,,,{n % 250},," for n in range(50_000)),
    )
    start = time.process_time()
    found = read(path).value
    assert time.process_time() - start < 6  # about 1.2 s on an idle machine
    assert len(found) == 50_000
    assert len({id(order.copies[0].design) for order in found}) == 5
    assert found[7].copies[0].design.seats[0].midi == 60 + parse_key("C").shift
