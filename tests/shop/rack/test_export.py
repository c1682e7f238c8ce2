import io
import tempfile
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from asgiref.sync import async_to_sync
from django.test import AsyncClient
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combwright.files.rack import read_rack
from combwright.shop.people.roles import Role
from combwright.shop.rack import export_files
from combwright.shop.rack.models import Batch, Bin
from combwright.shop.rack.tables import TABLES, text_cell
from shop.rack.shelves import a_bin, somebody

pytestmark = pytest.mark.django_db
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")
HEADER = TABLES["rack"].header


def csv_parts():
    return export_files.csv_parts(TABLES["rack"])


def xlsx_parts():
    return export_files.xlsx_parts(TABLES["rack"])


READY = {"csv": csv_parts, "xlsx": xlsx_parts}


def read_back(parts, ending):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"rack.{ending}"
        path.write_bytes(b"".join(parts))
        return read_rack(path).value


def named(longest, *, least=0):
    """Return texts that a file's cell may hold: visible, without outer blanks, often dangerous."""
    texts = st.one_of(
        st.text(st.characters(exclude_categories=["C", "Z"]), min_size=least, max_size=longest),
        st.sampled_from(["=1+1", "+7", "-2", "@SUM(A1)", "#N/A", "'=1", 'a,"b"', "a;b", "007",
                         "1e5", "TRUE", "2031-04-30", "=HYPERLINK(\"x\")"]),
    )  # fmt: skip
    return texts.map(lambda text: text.strip()[:longest]).filter(lambda text: len(text) >= least)


BINS = st.lists(
    st.builds(
        Bin,
        code=named(40, least=1),
        midi=st.integers(0, 127),
        millicents=st.integers(-600_000, 600_000),
        slot_um=st.integers(100, 60_000),
        mount=st.sampled_from(["front", "rear"]),
        cut=named(20),
        walk=named(40),
        cost=st.decimals(0, "9999999.99", places=2),
        held=st.booleans(),
        count=st.integers(0, 1_000_000),
    ),
    unique_by=lambda each: each.code,
    max_size=12,
)


@pytest.mark.data
@pytest.mark.parametrize("ending", list(READY))
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(bins=BINS, batch=named(40, least=1), held=st.booleans())
def test_what_is_exported_reads_back_as_the_same_bins(ending, bins, batch, held):
    Bin.objects.all().delete()
    Batch.objects.all().delete()
    home = Batch.objects.create(code=batch, held=held)
    for each in bins:
        each.batch, each.pk = home, None
    Bin.objects.bulk_create(bins)
    there = [each.as_stock() for each in Bin.objects.select_related("batch")]
    # A length or cents that a person measured may have no finite binary form; thousandths have.
    thousandths = [
        replace(each, cents=round(each.cents, 3), slot_mm=round(each.slot_mm, 3)) for each in there
    ]
    assert list(read_back(READY[ending](), ending)) == thousandths


@pytest.mark.parametrize("start", DANGEROUS)
def test_no_text_cell_begins_as_a_formula(start):
    home = Batch.objects.create(code=f"{start}batch")
    Bin.objects.create(
        code=f"{start}1+1", midi=60, slot_um=12_000, mount="front", batch=home,
        cut=f"{start}cut", walk=f"{start}walk", cost=Decimal(1), millicents=-2_500,
    )  # fmt: skip
    sheet = openpyxl.load_workbook(io.BytesIO(b"".join(xlsx_parts()))).active
    cells = dict(zip(HEADER, next(sheet.iter_rows(min_row=2)), strict=True))
    assert {cell.data_type for cell in cells.values()} <= {"s", "n", "inlineStr"}
    lines = b"".join(csv_parts()).decode("utf-8-sig").splitlines()
    written = dict(zip(HEADER, lines[1].split(","), strict=True))
    for name in ("bin", "pitch", "mount", "batch", "cut", "walk", "held"):
        assert not cells[name].value.startswith(DANGEROUS)
        assert not written[name].startswith(DANGEROUS)
    assert Decimal(written["cents"]) == Decimal("-2.5")
    assert cells["cents"].value == -2.5


def test_what_cannot_be_seen_is_shown_as_such():
    assert text_cell("a\x0bb\x00") == "a\ufffdb\ufffd"
    a_bin("A\x0b1")
    assert [each.code for each in read_back(xlsx_parts(), "xlsx")] == ["A\ufffd1"]


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize("ending", list(READY))
def test_everyone_may_export_the_rack(client, role, ending):
    a_bin("A-1", 3)
    client.force_login(somebody(role))
    answer = client.get(reverse(f"rack:{ending}"))
    assert answer.status_code == 200
    assert answer.streaming
    assert f'filename="rack.{ending}"' in answer["Content-Disposition"]
    (there,) = read_back(answer.streaming_content, ending)
    assert (there.code, there.count) == ("A-1", 3)


@pytest.mark.parametrize("ending", list(READY))
def test_nobody_exports_without_logging_in(client, ending):
    somebody()
    answer = client.get(reverse(f"rack:{ending}"))
    assert (answer.status_code, answer["Location"].split("?")[0]) == (302, "/people/login/")


@pytest.mark.parametrize("ending", list(READY))
def test_an_export_asks_one_question_of_any_rack(ending, django_assert_num_queries):
    for n in range(40):
        a_bin(f"A-{n}", batch=f"b{n}")
    with django_assert_num_queries(1):
        assert len(read_back(READY[ending](), ending)) == 40


def test_a_large_rack_comes_in_several_parts():
    home = Batch.objects.create(code="b1")
    Bin.objects.bulk_create(
        Bin(code=f"A-{n}", midi=60, slot_um=12_000, mount="front", batch=home) for n in range(2_500)
    )
    assert len(list(csv_parts())) == 3
    assert len(read_back(csv_parts(), "csv")) == 2_500


def test_an_asynchronous_server_gets_the_same_file():
    a_bin("A-1", 3)
    client = AsyncClient()
    client.force_login(somebody())

    async def gathered():
        answer = await client.get(reverse("rack:csv"))
        assert answer.is_async
        return [part async for part in answer.streaming_content]

    assert b"".join(async_to_sync(gathered)()) == b"".join(csv_parts())
