import os
import time

import pytest

from combwright.files.grids import Column
from combwright.files.results import BadTable
from combwright.files.tables import complete, read_table
from files.written import line_of, lines_of, write

COLUMNS = (Column("bin"), Column("slot_mm", number=True), Column("cost", must=False, number=True))


def cells_of(path, **options):
    table = read_table(path, COLUMNS, **options)
    slots = table.filled("slot_mm", float)
    costs = table.optional("cost", float, 0.0)
    table.finish()
    return list(zip(table.texts("bin"), slots, costs, strict=True))


def read_all(path, **options):
    return cells_of(path, **options)


@pytest.mark.parametrize(
    "text",
    [
        "bin,slot_mm,cost\nA,14.2,1.5\nB,9,0.125\n",
        "bin;slot_mm;cost\nA;14.2;1.5\nB;9;0.125\n",
        "bin;slot_mm;cost\nA;14,2;1,5\nB;9;0,125\n",
        'bin,slot_mm,cost\nA,"14,2","1,5"\nB,9,"0,125"\n',
        "\ufeffbin;slot_mm;cost\r\nA;14,2;1,5\r\nB;9;0,125\r\n",
        'BIN , "Slot_mm",cost\n A ,14.2,1.5\n"B", 9 ,.125',
        "bin,slot_mm,cost\rA,14.2,1.5\rB,9,0.125\r",
    ],
)
def test_every_way_a_spreadsheet_saves_the_same_table_reads_the_same(tmp_path, text):
    path = write(tmp_path, "rack.csv", text)
    assert cells_of(path) == [("A", 14.2, 1.5), ("B", 9.0, 0.125)]


def test_quoted_cells_may_hold_separators_quotes_and_line_ends(tmp_path):
    path = write(tmp_path, "rack.csv", 'bin,slot_mm\n"A, ""left""\nside",14.2\nB,9.5\n')
    assert [each[0] for each in cells_of(path)] == ['A, "left"\nside', "B"]


def test_columns_may_stand_in_any_order_and_unknown_ones_are_named_in_a_warning(tmp_path):
    path = write(tmp_path, "rack.csv", "colour,slot_mm,bin,shelf\nred,14.2,A,3\n")
    table = read_table(path, COLUMNS)
    assert table.warnings == ("rack.csv: not known and left out: column colour, shelf.",)
    assert table.texts("bin") == ["A"]


def test_blank_rows_count_as_rows_and_are_skipped(tmp_path):
    path = write(tmp_path, "rack.csv", "bin,slot_mm\n\nA,14.2\n,\n  , \nB,x1\n")
    assert line_of(read_all, path) == (
        "rack.csv, row 6, column slot_mm: 'x1' is no number; write one such as 14.2."
    )


def test_a_header_alone_is_an_empty_table(tmp_path):
    assert cells_of(write(tmp_path, "rack.csv", "bin,slot_mm\n")) == []


def test_every_error_is_told_at_once_by_row(tmp_path):
    text = "bin,slot_mm,cost\nA,abc,1\nB,14.2,x\nC,14.2,1,7\nD,,2\n"
    lines = lines_of(read_all, write(tmp_path, "rack.csv", text))
    assert [line.split(":")[0] for line in lines] == [
        "rack.csv, row 2, column slot_mm",
        "rack.csv, row 3, column cost",
        "rack.csv, row 4",
        "rack.csv, row 5, column slot_mm",
    ]


def test_no_more_than_fifty_errors_are_shown_and_the_rest_is_counted(tmp_path):
    text = "bin,slot_mm,cost\n" + "A,x,y\n" * 1000
    lines = lines_of(read_all, write(tmp_path, "rack.csv", text))
    assert len(lines) == 51
    assert lines[49].startswith("rack.csv, row 26, column cost:")
    assert lines[50] == "rack.csv: and 1950 more."


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "has no header"),
        ("\n\n", "has no header"),
        (",,,\nA,1\n", "has no header"),
        ("slot_mm\n14.2\n", "lacks the column bin"),
        ("nothing,here\n1,2\n", "lacks the columns bin, slot_mm; it names nothing, here"),
        ("bin,slot_mm,Bin\nA,1,B\n", "names 'bin' twice"),
        ("bin,slot_mm\nA,14.2,3\n", "row 2: there are 3 cells, but the header names 2 columns"),
        ("bin;slot_mm\nA;14,2;B\n", "; put a cell with a semicolon in it into quotation marks"),
        ("bin,slot_mm\nA,14,2\n", "; put a cell with a comma in it, such as 14,2, into quotation"),
        ("bin\tslot_mm\nA\t14.2\n", "is parted by tabs"),
        ('bin,slot_mm\nA,14.2\n"B,14.2\n', "row 3: a quotation mark is out of place"),
        ('bin,slot_mm\n"A"x,14.2\n', "row 2: a quotation mark is out of place"),
        ("bin,slot_mm\nA,nan\n", "'nan' is no finite number"),
        ("bin,slot_mm\nA,-inf\n", "'-inf' is no finite number"),
        ("bin,slot_mm\nA,٣٤\n", "is no number"),
        ("bin,slot_mm\nA,1_000\n", "'1_000' is no number"),
        ("bin,slot_mm\nA,0x10\n", "'0x10' is no number"),
        ("bin,slot_mm\nA," + "9" * 3000 + "\n", "is too long"),
        ("bin,slot_mm\n" + "A" * 200_000 + ",1\n", "a cell is far too long"),
    ],
)
def test_a_bad_file_gives_one_clear_line(tmp_path, text, said):
    assert said in line_of(read_all, write(tmp_path, "rack.csv", text))


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"bin,slot_mm\nA\xe4,14.2\n", "rack.csv, row 2, byte 2: the byte 0xe4 is not UTF-8"),
        (b"\xef\xbb\xbfbin,slot_mm\r\nB,1\r\nA\xe4,1\r\n", "row 3, byte 2: the byte 0xe4"),
        (b"bin,slot_mm\nA\0,14.2\n", "row 2, byte 2: a NUL byte"),
        ("bin,slot_mm\n".encode("utf-16"), "is saved as UTF-16"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "workbook of the old kind (.xls)"),
        (b"PK\x03\x04" + b"\0" * 60, "is a broken workbook"),
    ],
)
def test_bytes_that_are_no_utf8_table_give_one_clear_line(tmp_path, data, said):
    assert said in line_of(read_all, write(tmp_path, "rack.csv", data))


def test_a_missing_file_a_folder_and_a_pipe_give_one_clear_line(tmp_path):
    assert line_of(read_all, tmp_path / "none.csv").startswith("There is no file ")
    assert line_of(read_all, tmp_path / "none" / "a.csv").startswith("There is no file ")
    assert line_of(read_all, tmp_path).endswith("is a folder; name a file in it.")
    assert "embedded null" in line_of(read_all, "a\0b.csv")
    assert "cannot be read" in line_of(read_all, tmp_path / ("x" * 300 + ".csv"))
    os.mkfifo(tmp_path / "pipe.csv")
    assert "is no ordinary file" in line_of(read_all, tmp_path / "pipe.csv")


def test_a_file_one_may_not_read_gives_one_clear_line(tmp_path):
    path = write(tmp_path, "rack.csv", "bin,slot_mm\n")
    path.chmod(0)
    user = os.geteuid()
    if user == 0:  # to the superuser nothing is forbidden, so be nobody for a moment
        os.seteuid(65534)
    try:
        line = line_of(read_all, path)
    finally:
        os.seteuid(user)
    assert line.endswith("may not be read: permission is denied.")


def test_a_file_of_200_megabytes_is_refused_before_it_is_read(tmp_path):
    path = write(tmp_path, "rack.csv", "bin,slot_mm\n")
    os.truncate(path, 200 * 10**6)
    start = time.perf_counter()
    line = line_of(read_all, path)
    assert time.perf_counter() - start < 0.5
    assert "has 190.7 MiB and was not read; the most for such a file is 64 MiB" in line


def test_a_file_of_more_than_a_million_rows_is_refused_in_one_line(tmp_path):
    path = write(tmp_path, "rack.csv", "bin,slot_mm\n" + "A,9\n" * 1_000_001)
    assert "1,000,000 are the most" in line_of(read_all, path)


def test_a_file_name_with_a_line_end_still_gives_one_line(tmp_path):
    path = write(tmp_path, "ra\nck.csv", "bin,slot_mm\nA,x\n")
    assert line_of(read_all, path).startswith("ra ck.csv, row 2, column slot_mm: ")


def test_nothing_is_taken_in_when_one_row_is_bad(tmp_path):
    table = read_table(write(tmp_path, "r.csv", "bin,slot_mm\nA,1\nB,x\n"), COLUMNS)
    assert table.filled("slot_mm", float) == [1.0, None]
    with pytest.raises(BadTable, match="row 3"):
        table.finish()


def test_a_whole_column_comes_back_unchanged(tmp_path):
    table = read_table(write(tmp_path, "r.csv", "bin,slot_mm\nA,1\n"), COLUMNS)
    assert complete(table.filled("slot_mm", float)) == [1.0]
