"""Everything the rack and the store know, as files."""

import csv
import io
import zipfile
from decimal import Decimal
from itertools import count

import openpyxl
import pytest
from asgiref.sync import async_to_sync
from django.test import AsyncClient
from django.urls import reverse

from combwright.files.parts import read_parts
from combwright.shop.people.roles import Role
from combwright.shop.rack import actions, change_actions, export_files, item_actions
from combwright.shop.rack.export_files import WRITERS, zip_parts
from combwright.shop.rack.tables import TABLES, Table
from shop.rack.shelves import a_bin, somebody
from shop.rack.stores import a_donor, a_part, a_set

pytestmark = [pytest.mark.django_db, pytest.mark.data]
DANGEROUS = ("=", "+", "-", "@", "#", "\t", "\r")


def as_rows(name, ending="csv"):
    data = b"".join(WRITERS[ending](TABLES[name]))
    if ending == "csv":
        return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))
    sheet = openpyxl.load_workbook(io.BytesIO(data)).active
    header, *rows = sheet.iter_rows(values_only=True)
    shown = [["" if cell is None else str(cell) for cell in row] for row in rows]
    return [dict(zip(header, row, strict=True)) for row in shown]


def a_shop():
    plates = a_bin("A-1", 5)
    wrong = actions.scrap(somebody(), plates, 2, note="=bent")
    actions.take_back(somebody("office"), wrong, note="fine")
    a_set(came=3)
    a_donor()
    a_part("Covers", 4)


@pytest.mark.parametrize("ending", list(WRITERS))
def test_parts_read_back_summed_by_part_without_what_is_held(tmp_path, ending):
    a_part("Covers, brass", 4, cost="3.00")
    a_part("Covers, steel", 2, cost="6.00")
    held = a_part("Covers, bent", 9, cost="1.00")
    change_actions.hold_item(somebody(), held, "bent")
    a_part("Screws", part="screw", cost="0.05")
    a_part("=1", 3, part="=1+1")
    a_set(came=3)
    path = tmp_path / f"parts.{ending}"
    path.write_bytes(b"".join(WRITERS[ending](TABLES["parts"])))
    there = {each.name: (each.count, each.cost) for each in read_parts(path).value.values()}
    assert there == {
        "cover": (6, Decimal("4.00")), "screw": (0, Decimal("0.05")), "=1+1": (3, Decimal("3.00")),
    }  # fmt: skip


@pytest.mark.parametrize("ending", list(WRITERS))
def test_items_and_batches_are_told_row_by_row(ending):
    a_shop()
    item_actions.count_items(somebody(), a_part("Screws", 3, part="screw"), 3)
    items = {row["name"]: row for row in as_rows("items", ending)}
    assert (items["Set G"]["key"], items["Set G"]["count"]) == ("G", "3")
    assert items["Old D"]["layout"] == "natural-minor"
    assert items["Covers"]["part"] == "cover"
    assert items["Screws"]["counted"].startswith("20")
    batches = {row["batch"]: row for row in as_rows("batches", ending)}
    assert (batches["b1"]["bins"], batches["b1"]["plates"]) == ("1", "5")


@pytest.mark.parametrize("ending", list(WRITERS))
def test_the_ledger_has_every_line_of_bins_and_items_and_adds_up(ending):
    a_shop()
    rows = as_rows("ledger", ending)
    assert [int(row["entry"]) for row in rows] == sorted(int(row["entry"]) for row in rows)
    assert sum(int(row["change"]) for row in rows if row["bin"]) == 5
    sums = {}
    for row in rows:
        if row["item"]:
            sums[row["item"]] = sums.get(row["item"], 0) + int(row["change"])
    assert sums == {"Set G": 3, "Old D": 1, "Covers": 4}
    undone = next(row for row in rows if row["takes_back"])
    assert (undone["why"], undone["who"], undone["note"]) == ("corrected", "office", "fine")
    assert undone["takes_back"] == rows[1]["entry"]


@pytest.mark.parametrize("start", DANGEROUS)
@pytest.mark.parametrize("name", list(TABLES))
def test_no_text_is_taken_for_a_formula(name, start):
    evil = f"{start}1+1"
    plates = a_bin(evil, 2, batch=evil)
    actions.scrap(somebody(), plates, 1, note=evil)
    actions.hold(plates.batch, f"x{evil}")
    seen = evil.strip()
    a_set(f"{seen} set", batch=evil, walk=evil, about=evil)
    a_part(f"{seen} part", 2, part=evil)
    for row in as_rows(name):
        for column, cell in row.items():
            if column not in {"change", "cents", "after"}:
                assert not cell.startswith(DANGEROUS), column
    sheet = openpyxl.load_workbook(io.BytesIO(b"".join(WRITERS["xlsx"](TABLES[name])))).active
    kinds = {cell.data_type for row in sheet.iter_rows() for cell in row}
    assert kinds <= {"s", "n", "inlineStr"}


@pytest.mark.parametrize("ending", list(WRITERS))
def test_one_zip_holds_all_tables(ending):
    a_shop()
    packed = zipfile.ZipFile(io.BytesIO(b"".join(zip_parts(TABLES.values(), ending))))
    assert packed.testzip() is None
    assert packed.namelist() == [f"{name}.{ending}" for name in TABLES]
    if ending == "csv":
        alone = b"".join(WRITERS["csv"](TABLES["ledger"]))
        assert packed.read("ledger.csv") == alone


def test_a_long_table_is_given_bit_by_bit():
    """However many rows a table has, no more are asked for than were given out."""
    asked = count()
    last = 0

    def rows():
        nonlocal last
        for last in asked:
            yield (last, "x")

    endless = Table("endless", "", ("n", "text"), rows)
    parts = zip_parts([endless], "csv")
    given = sum(len(next(parts)) for _n in range(3))
    assert given > 0
    assert last < 200_000


def test_a_sheet_that_is_full_goes_on_on_another(monkeypatch):
    monkeypatch.setattr(export_files, "ROWS_OF_A_SHEET", 10)
    table = Table("ledger", "", ("n",), lambda: iter([(n,) for n in range(25)]))
    book = openpyxl.load_workbook(io.BytesIO(b"".join(export_files.xlsx_parts(table))))
    assert book.sheetnames == ["ledger", "ledger 2", "ledger 3"]
    found = [row[0] for sheet in book for row in sheet.iter_rows(min_row=2, values_only=True)]
    assert found == list(range(25))


@pytest.mark.parametrize("name", list(TABLES))
def test_a_table_asks_as_many_questions_however_long_it_is(name, django_assert_max_num_queries):
    a_shop()
    with django_assert_max_num_queries(2) as few:
        as_rows(name)
    for n in range(30):
        a_bin(f"M-{n}", 2, batch=f"m{n}")
        a_part(f"P-{n}", 2, part=f"p{n}")
    with django_assert_max_num_queries(2) as many:
        assert as_rows(name)
    assert len(few) == len(many)


@pytest.mark.parametrize("role", list(Role))
def test_everyone_may_export(client, role):
    a_shop()
    client.force_login(somebody(role))
    page = client.get(reverse("rack:export")).content.decode()
    for name in TABLES:
        for ending in WRITERS:
            address = reverse("rack:export-table", args=[name, ending])
            assert address in page
            answer = client.get(address)
            assert answer.status_code == 200
            assert f'filename="{name}.{ending}"' in answer["Content-Disposition"]
            assert answer.getvalue()
    for ending in WRITERS:
        address = reverse("rack:export-all", args=[ending])
        assert address in page
        answer = client.get(address)
        assert answer["Content-Type"] == "application/zip"
        assert answer.getvalue().startswith(b"PK")


def test_what_is_no_table_is_not_there(client):
    client.force_login(somebody())
    for address in ("nonsense.csv", "rack.pdf", "everything-pdf.zip", "rack.zip"):
        assert client.get(f"/rack/export/{address}").status_code == 404


def test_an_asynchronous_server_gets_the_same_zip():
    a_shop()
    client = AsyncClient()
    client.force_login(somebody())

    async def gathered():
        answer = await client.get(reverse("rack:export-all", args=["csv"]))
        assert answer.is_async
        return [part async for part in answer.streaming_content]

    packed = zipfile.ZipFile(io.BytesIO(b"".join(async_to_sync(gathered)())))
    assert packed.testzip() is None
