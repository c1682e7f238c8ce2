"""Whatever is sent as a rack is answered: with a preview, or with lines that say what is wrong.

COMBWRIGHT_FUZZ says how many files are tried; every thirtieth goes through the page, with a login
and a form, and the others through what the page calls.
"""

import io
import os
import re
import warnings
import zipfile
from decimal import Decimal

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combwright.files.rack import RACK_COLUMNS
from combwright.files.results import BadFile
from combwright.shop.rack import imports
from combwright.shop.rack.models import Batch, Bin, Line, Upload
from combwright.shop.rack.queries import ledger_faults
from shop.rack.shelves import a_bin, somebody

FILES = int(os.environ.get("COMBWRIGHT_FUZZ", "300"))
THROUGH_THE_PAGE = max(10, FILES // 30)
HEADER = [column.name for column in RACK_COLUMNS]
TIMES = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")
FUZZ = settings(
    deadline=None,
    database=None,
    suppress_health_check=list(HealthCheck),
    print_blob=True,
)

#: What real cells look like, and what has no business in one.
LIKELY = {
    "bin": ["A-1", "A-2", "N-1", "N-2", "N-3", "Ä 7", "A-1 "],
    "pitch": ["C4", "F#5", "Bb3", "D4+12", "B♭4", "c4", "H4", "C99"],
    "cents": ["0", "-1.5", "2,5", "", "600", "-601", "1e3"],
    "slot_mm": ["16.8", "14,2", "0.1", "0.05", "60", "61", "1e-9"],
    "mount": ["front", "rear", "FRONT", "middle"],
    "batch": ["b1", "b2", "", "new"],
    "count": ["0", "1", "7", "3.0", "-1", "1000000", "1000001", "1e2", "٣"],
    "cost": ["2.20", "2,20", "", "0.001", "99999999", "-1"],
    "cut": ["", "4 draw", "3"],
    "walk": ["", "A-1", "Z-9"],
    "held": ["yes", "no", "", "ja", "1"],
}
ODD = st.one_of(
    st.text(max_size=12),
    st.sampled_from([
        "=1+1", "=cmd|' /c x'!A0", "+1", "-1", "@x", "\0", "\t", "\r", "\u202e", "\ufeff", "\ud7ff",
        "nan", "inf", "-inf", "1e999", "-0", "9" * 400, "x" * 200_000, "'", '"', ";", ",", "\u0085",
        "\U0001f3b5", "1,234.5", "1.234,5", "1 000", "0x10", "1_000", "½", "true", "2021-03-01",
    ]),
    st.integers(-(10**30), 10**30).map(str),
    st.floats().map(str),
)  # fmt: skip
ENCODINGS = ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-32", "latin-1", "cp1252", "cp437"]


@st.composite
def tables(draw):
    """Draw a header, mostly a right one, and rows of mostly likely cells."""
    header = draw(st.one_of(
        st.just(HEADER),
        st.permutations(HEADER),
        st.lists(st.sampled_from(HEADER), max_size=12),
        st.lists(st.one_of(st.sampled_from(HEADER), ODD), max_size=14),
    ))  # fmt: skip
    cells = [st.one_of(*[st.sampled_from(LIKELY.get(column, ["x"]))] * 3, ODD) for column in header]
    rows = draw(st.lists(st.tuples(*cells).map(list), max_size=6))
    if rows and draw(st.integers(0, 5)) == 0:
        rows = [row[: draw(st.integers(0, len(row)))] for row in rows]
    return [header, *rows]


@st.composite
def mutated(draw, whole):
    """Draw bytes with a few of them changed, put in, left out or cut off; or none."""
    data = bytearray(draw(whole))
    for _ in range(draw(st.sampled_from([0, 0, 1, 1, 2, 5, 20]))):
        at = draw(st.integers(0, 2**16)) * len(data) >> 16
        what = draw(st.sampled_from(["set", "put in", "leave out", "cut", "double"]))
        if what == "set" and at < len(data):
            data[at] = draw(st.integers(0, 255))
        elif what == "put in":
            data[at:at] = draw(st.binary(max_size=9))
        elif what == "leave out":
            del data[at : at + draw(st.integers(1, 40))]
        elif what == "cut":
            del data[at:]
        else:
            data[at:at] = data[at : at + 200]
    return bytes(data)


@st.composite
def csv_files(draw):
    separator = draw(st.sampled_from([",", ",", ";", ";", "\t", "|", " "]))
    ending = draw(st.sampled_from(["\n", "\n", "\r\n", "\r", "\n\n", "\x0b", "\u2028"]))
    mark = draw(st.sampled_from(["", "", '"']))
    rows = [separator.join(f"{mark}{cell}{mark}" for cell in row) for row in draw(tables())]
    text = ending.join(rows) + draw(st.sampled_from(["", ending]))
    return text.encode(draw(st.sampled_from(ENCODINGS)), "replace")


def plain(cell):
    """Return a cell as a workbook takes it: openpyxl itself refuses to write some."""
    text = "".join(c for c in cell[:32_767] if c.isprintable() or c in "\t\n")
    try:
        return float(text) if len(text) < 20 else text
    except ValueError:
        return text


@st.composite
def xlsx_files(draw):
    book = openpyxl.Workbook()
    for row in draw(tables()):
        book.active.append([plain(cell) for cell in row])
    for _ in range(draw(st.integers(0, 2))):
        book.create_sheet().append(["x"])
    file = io.BytesIO()
    book.save(file)
    return repacked(file.getvalue(), draw)


def repacked(data, draw):
    """Pack a workbook anew with no time of day in it, and perhaps change it inside.

    A part has other bytes then, or is left out, is huge, declares an entity, or has rows far away.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old:
        names = old.namelist()
        chosen = draw(st.sampled_from(names))
        hows = ["nothing", "nothing", "change", "leave out", "double", "bomb", "entity", "far"]
        how = draw(st.sampled_from(hows))
        with warnings.catch_warnings(), zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
            warnings.simplefilter("ignore")  # about a name that is there twice
            for name in names:
                part = TIMES.sub(b"2021-03-01T07:00:00Z", old.read(name))
                if name == chosen and how == "leave out":
                    continue
                if name == chosen and how == "change":
                    part = draw(mutated(st.just(part)))
                if name == chosen and how == "bomb":
                    part = part + b" " * (9 * 2**20)
                if name == chosen and how == "entity":
                    part = part.replace(b"?>", b'?><!DOCTYPE x [<!ENTITY y "z">]>', 1)
                if how == "far" and name.endswith("sheet1.xml"):
                    part = part.replace(b'r="A1"', b'r="XFD1048576"')
                    part = part.replace(b'r="1"', b'r="9999999"')
                for _ in range(2 if name == chosen and how == "double" else 1):
                    new.writestr(zipfile.ZipInfo(name), part, zipfile.ZIP_DEFLATED)
    return out.getvalue()


FILES_OF_ALL_KINDS = st.one_of(
    mutated(csv_files()), mutated(csv_files()), mutated(xlsx_files()), st.binary(max_size=400)
)
NAMES = st.sampled_from([
    "rack.csv", "rack.csv", "rack.xlsx", "rack.xlsx", "RACK.XLSX", "rack", "rack.txt", "rack.xls",
    "../../etc/rack.csv", ".csv", "r\0ck.csv", "ä" * 300 + ".xlsx", "rack.csv.xlsx", "\ud800.csv",
])  # fmt: skip
MARKS = st.sampled_from([None, "point", "comma"])


@pytest.fixture(scope="module")
def rack():
    """Give two bins as a database would, without one."""
    kind = {"midi": 60, "slot_um": 16_800, "mount": "front", "cost": Decimal("2.20")}
    batch = Batch(pk=1, code="b1")
    bins = [
        Bin(pk=1, code="A-1", walk="A-1", count=5, batch=batch, **kind),
        Bin(pk=2, code="A-2", walk="A-2", count=0, batch=batch, **kind),
    ]
    return {each.code: each for each in bins}


@pytest.mark.django_db
@settings(FUZZ, max_examples=FILES)
@given(data=FILES_OF_ALL_KINDS, name=NAMES, mark=MARKS)
def test_every_file_gives_a_comparison_or_lines_of_problems(data, name, mark, rack):
    try:
        contents = imports.read_contents(data, imports.file_name(name), mark)
        comparison = imports.compare(contents, rack)
    except BadFile as error:
        lines = str(error).splitlines()
        assert lines
        assert all(line.strip() and line.isprintable() and len(line) < 1000 for line in lines)
        return
    assert len(comparison.fingerprint) == 64
    assert len(comparison.differences) + comparison.same == len(contents.bins)


def rack_now():
    return list(Bin.objects.order_by("pk").values_list("code", "count", "slot_um", "batch__code"))


@pytest.mark.django_db
@settings(FUZZ, max_examples=THROUGH_THE_PAGE)
@given(data=FILES_OF_ALL_KINDS, name=NAMES, mark=st.sampled_from(["", "point", "comma", "odd"]))
def test_the_page_answers_every_file_and_the_rack_stays_as_it_is(data, name, mark, client):
    client.force_login(somebody("owner"))
    if not Bin.objects.exists():
        a_bin("A-1", 5)
        a_bin("A-2")
    before, lines = rack_now(), Line.objects.count()
    sent = {"file": SimpleUploadedFile(name.replace("\ud800", "?") or "x", data), "decimal": mark}
    answer = client.post(reverse("rack:imports"), sent)
    if answer.status_code == 302:
        assert client.get(answer["Location"]).status_code == 200
        assert Upload.objects.latest("pk").entry is None
    else:
        assert answer.status_code == 422
        assert answer.context["problems"] or answer.context["form"].errors
    assert (rack_now(), Line.objects.count()) == (before, lines)
    assert list(ledger_faults()) == []
