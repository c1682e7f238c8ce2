import io
import zipfile
from datetime import date, datetime

import openpyxl
import pytest

from combwright.files import xlsx_bounds, xlsx_rows
from combwright.files.cells import day
from combwright.files.grids import Column
from combwright.files.tables import read_table
from files.written import SHEET, line_of, lines_of, repacked, with_shared_texts, write, write_xlsx

COLUMNS = (
    Column("bin"),
    Column("slot_mm", number=True),
    Column("arrives", must=False),
)


def read_all(path):
    table = read_table(path, COLUMNS)
    slots = table.filled("slot_mm", float)
    arrives = table.maybe("arrives", day)
    table.finish()
    return list(zip(table.texts("bin"), slots, arrives, strict=True))


def test_a_workbook_reads_as_the_same_csv_does(tmp_path):
    rows = [
        ["bin", "slot_mm", "arrives"],
        ["A", 14.2, date(2031, 4, 30)],
        [101, "9,5", "2031-05-01"],
    ]
    text = "bin;slot_mm;arrives\nA;14,2;2031-04-30\n101;9,5;2031-05-01\n"
    expected = [("A", 14.2, date(2031, 4, 30)), ("101", 9.5, date(2031, 5, 1))]
    assert read_all(write_xlsx(tmp_path, rows)) == expected
    assert read_all(with_shared_texts(write_xlsx(tmp_path, rows))) == expected
    assert read_all(write(tmp_path, "rack.csv", text)) == expected


def test_which_kind_it_is_the_bytes_tell_and_not_the_name(tmp_path):
    book = write_xlsx(tmp_path, [["bin", "slot_mm"], ["A", 14]]).read_bytes()
    assert read_all(write(tmp_path, "rack.csv", book)) == [("A", 14.0, None)]
    assert "is no XLSX workbook" in line_of(read_all, write(tmp_path, "t.xlsx", "bin,slot_mm\n"))


def test_a_date_cell_with_a_time_of_day_is_no_date(tmp_path):
    rows = [["bin", "slot_mm", "arrives"], ["A", 1, datetime(2031, 4, 30, 14, 5)]]
    assert "'2031-04-30 14:05:00' is no date" in line_of(read_all, write_xlsx(tmp_path, rows))


def test_a_number_that_the_spreadsheet_took_for_a_date_is_refused(tmp_path):
    rows = [["bin", "slot_mm"], ["A", date(2031, 2, 14)]]
    assert "'2031-02-14' is no number" in line_of(read_all, write_xlsx(tmp_path, rows))


def test_formulas_and_error_values_are_refused_with_row_and_column(tmp_path):
    rows = [["bin", "slot_mm"], ["A", "=7+7.2"], ["B", 14.2], ["=A2", "#N/A"]]
    lines = lines_of(read_all, write_xlsx(tmp_path, rows))
    assert "rack.xlsx, row 2, column slot_mm: a formula stands here; paste values instead." in lines
    assert "rack.xlsx, row 4, column bin: a formula stands here; paste values instead." in lines
    assert any("row 4, column slot_mm: the error #N/A stands here" in line for line in lines)


def test_only_the_first_sheet_is_read_and_that_is_said(tmp_path):
    path = write_xlsx(tmp_path, [["bin", "slot_mm"]], more_sheets=["Old"])
    assert read_table(path, COLUMNS).warnings == (
        "rack.xlsx: only the first of 2 sheets is read, 'Sheet'.",
    )


def test_rows_keep_their_numbers_across_gaps(tmp_path):
    book = openpyxl.Workbook()
    book.active["A1"], book.active["B1"] = "bin", "slot_mm"
    book.active["A7"], book.active["B7"] = "A", "x"
    book.save(tmp_path / "rack.xlsx")
    assert line_of(read_all, tmp_path / "rack.xlsx").startswith("rack.xlsx, row 7, column slot_mm")


def test_a_row_number_beyond_any_spreadsheet_does_not_fill_the_memory(tmp_path):
    path = write_xlsx(tmp_path, [["bin", "slot_mm"], ["A", 14.2]])
    with zipfile.ZipFile(path) as archive:
        sheet = (
            archive.read(SHEET).replace(b'r="2"', b'r="2000000000"').replace(b"A2", b"A2000000000")
        )
    data = repacked(path, SHEET, sheet.replace(b"B2", b"B2000000000"))
    assert "has a row beyond 1,048,576" in line_of(read_all, write(tmp_path, "far.xlsx", data))


def test_a_stated_size_of_a_whole_sheet_is_not_trusted(tmp_path):
    path = write_xlsx(tmp_path, [["bin", "slot_mm"], ["A", 14.2]])
    with zipfile.ZipFile(path) as archive:
        sheet = archive.read(SHEET).replace(b'ref="A1:B2"', b'ref="A1:XFD1048576"')
    assert read_all(write(tmp_path, "wide.xlsx", repacked(path, SHEET, sheet))) == [
        ("A", 14.2, None)
    ]


def test_too_many_columns_are_refused(tmp_path):
    path = write_xlsx(tmp_path, [[f"c{n}" for n in range(300)]])
    assert "256 are the most" in line_of(read_all, path)


def test_an_empty_workbook_has_no_header(tmp_path):
    assert "has no header" in line_of(read_all, write_xlsx(tmp_path, []))


def bomb(megabytes, part=SHEET):
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        with archive.open(part, "w", force_zip64=True) as stream:
            for _ in range(megabytes):
                stream.write(b" " * 2**20)
    return held.getvalue()


@pytest.fixture(scope="module")
def large_bomb():
    """Return an archive of a few hundred kilobytes that unpacks to 300 MiB."""
    return bomb(300)


def test_a_workbook_that_unpacks_to_too_much_is_refused_by_what_it_states(tmp_path, large_bomb):
    assert len(large_bomb) < 2**20
    assert "unpacks to more than a table needs" in line_of(
        read_all, write(tmp_path, "bomb.xlsx", large_bomb)
    )


def test_a_workbook_that_states_less_than_it_unpacks_to_is_refused(tmp_path, large_bomb):
    data = large_bomb
    true_size = (300 * 2**20).to_bytes(4, "little")
    assert data.count(true_size) >= 1
    lying = data.replace(true_size, (1000).to_bytes(4, "little"))
    line = line_of(read_all, write(tmp_path, "bomb.xlsx", lying))
    assert "bomb.xlsx is a broken workbook" in line


def test_what_really_comes_out_of_a_part_is_held_against_the_bounds(
    tmp_path, monkeypatch, large_bomb
):
    monkeypatch.setattr(xlsx_bounds, "_check_stated", lambda parts, name: None)
    assert "unpacks to more" in line_of(read_all, write(tmp_path, "b.xlsx", large_bomb))
    assert "unpacks to more" in line_of(read_all, write(tmp_path, "b.xlsx", bomb(9)))


@pytest.mark.parametrize("item", [b"<c/>", b"<si/>", b"<c r='A1'/>"])
def test_a_part_of_countless_small_items_is_refused(tmp_path, item):
    path = write_xlsx(tmp_path, [["bin", "slot_mm"]])
    data = repacked(path, SHEET, b"<row>" + item * 9_000_000 + b"</row>")
    assert "unpacks to more" in line_of(read_all, write(tmp_path, "b.xlsx", data))


def test_entities_in_the_xml_are_refused(tmp_path):
    path = write_xlsx(tmp_path, [["bin", "slot_mm"]])
    data = repacked(path, SHEET, b'<!DOCTYPE a [<!ENTITY b "c">]><worksheet/>')
    assert "declares entities" in line_of(read_all, write(tmp_path, "b.xlsx", data))


def test_broken_and_foreign_archives_give_one_clear_line(tmp_path):
    sound = write_xlsx(tmp_path, [["bin", "slot_mm"], ["A", 14.2]])
    data = sound.read_bytes()
    assert "broken workbook" in line_of(read_all, write(tmp_path, "b.xlsx", data[:-40]))
    assert "no workbook that can be read" in line_of(
        read_all, write(tmp_path, "b.xlsx", repacked(sound, SHEET, b"<worksheet"))
    )
    other = io.BytesIO()
    with zipfile.ZipFile(other, "w") as archive:
        archive.writestr("content.xml", "<a/>")
    assert "no XLSX workbook" in line_of(read_all, write(tmp_path, "b.xlsx", other.getvalue()))


def test_a_protected_archive_gives_one_clear_line(tmp_path):
    data = bytearray(write_xlsx(tmp_path, [["bin", "slot_mm"]]).read_bytes())
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        data[at + 8] |= 1
        at = data.find(b"PK\x01\x02", at + 4)
    assert "protected by a password" in line_of(read_all, write(tmp_path, "b.xlsx", bytes(data)))


def test_more_rows_than_a_table_may_have_are_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(xlsx_rows, "MOST_ROWS", 2)
    path = write_xlsx(tmp_path, [["bin", "slot_mm"], *[["A", 1]] * 3])
    assert "more than 2 rows" in line_of(read_all, path)
