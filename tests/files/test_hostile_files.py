"""Whatever bytes a file holds, reading it gives a value or one of our errors, never another one."""

import contextlib
import json
import zipfile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.default_comb import default_comb
from combwright.errors import CombwrightError
from combwright.files.answers import plan_answer
from combwright.files.check import check_file
from combwright.files.combs import comb_toml, read_comb
from combwright.files.grids import Column
from combwright.files.layouts import layout_toml, read_layout
from combwright.files.orders import read_orders
from combwright.files.parts import read_parts
from combwright.files.rack import read_expected, read_rack
from combwright.files.reservations import read_reservations
from combwright.files.tables import read_table
from combwright.files.temperaments import read_temperament
from combwright.files.workshop import read_workshop
from files.test_answers import PLAN
from files.written import RACK, SHEET, TEXTS, TYPES, repacked, with_shared_texts, write, write_xlsx

COMB = default_comb()


def read_numbers(path):
    table = read_table(path, (Column("bin"), Column("cost", number=True)))
    table.filled("cost", float)
    table.finish()


def read_the_orders(path):
    return read_orders(path, comb=COMB)


READERS = {
    "table.csv": read_numbers,
    "rack.csv": read_rack,
    "expected.csv": lambda path: read_expected(path, {"A-01"}),
    "parts.csv": read_parts,
    "orders.csv": read_the_orders,
    "comb.toml": read_comb,
    "layout.toml": read_layout,
    "temperament.toml": read_temperament,
    "workshop.toml": read_workshop,
    "plan.json": read_reservations,
}
GOOD = {
    "table.csv": b'bin,cost\nA,1.5\n"B ""x""",2.25\n',
    "rack.csv": f"{RACK},held\nA,F#5,-2.5,14.2,front,b,12,1.80,no\nB,Bb4+3,,13,rear,,3,,".encode(),
    "expected.csv": f"{RACK},arrives\nE;C4\n,C4,0,14.2,front,b1,12,1.80,2031-05-01\n".encode(),
    "parts.csv": b"part;count;cost\ncover;24;3,50\nscrew;1200;0,02\n",
    "orders.csv": b"order,what,quantity,key,layout,changes,kit,temperament,a4,due,split\n"
    b"W-1,,2,low F,country,5 draw=F#5; 3 blow=A4,5 draw; 4 lower,7-limit,442,2031-05-01,yes\n"
    b"W-2,plates,1,C,standard,3 draw=none,5 draw=F#5,equal,,,\n",
    "comb.toml": comb_toml(COMB).encode(),
    "layout.toml": layout_toml(catalogue_layout("standard")).encode()
    + b"[[seat]]\nhole = 1\nbreath = 'draw'\ncents = 2.5\n",
    "temperament.toml": b"cents = [0,0,0,0,0,0,0,1.5,0,0,0,-2]\n[[seat]]\nhole=1\nbreath='draw'\n"
    b"cents = -3\n",
    "workshop.toml": b"[retune]\nfree_cents = 3\nfixed = 0.60\n[labels]\nrows = 8\n[paper]\n"
    b"size = 'A4'\n[money]\ncurrency = 'EUR'\n",
    "plan.json": json.dumps(plan_answer(PLAN)).encode(),
}
SPLINTERS = st.sampled_from(
    [b"", b",", b";", b'"', b"\n", b"\r", b"\0", b"\xff", b"\xef\xbb\xbf", b"=", b"[", b"]", b"{",
     b"nan", b"-1", b"1e999", b"9" * 400, b"1.234", b"1,234", b"\xe2\x88\x925", b"none", b"C99",
     b"\xd9\xa3", b"true", b"1e-400", b"''", b"\\", b"0x1", b"1979-05-27", b".toml", b"../"]
)  # fmt: skip
CHANGES = st.lists(
    st.tuples(st.floats(0, 1), st.integers(0, 12), SPLINTERS | st.binary(max_size=4)),
    min_size=1,
    max_size=6,
)
quiet = settings(
    max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def only_our_errors(read, path):
    with contextlib.suppress(CombwrightError):
        try:
            read(path)
        except CombwrightError as error:
            lines = str(error).split("\n")
            assert 1 <= len(lines) <= 51
            assert all(0 < len(line) <= 420 and line.isprintable() for line in lines)
            raise


def mutated(data, changes):
    for place, length, splinter in changes:
        at = int(place * len(data))
        data = data[:at] + splinter + data[at + length :]
    return data


def test_the_files_that_are_mutated_are_good_to_begin_with(tmp_path):
    for name in sorted(set(GOOD) - {"expected.csv"}):  # one of its rows is short on purpose
        READERS[name](write(tmp_path, name, GOOD[name]))


@pytest.mark.parametrize("name", READERS)
@quiet
@given(data=st.binary(max_size=400))
def test_random_bytes_raise_only_our_errors(tmp_path, name, data):
    only_our_errors(READERS[name], write(tmp_path, name, data))


@pytest.mark.parametrize("name", READERS)
@quiet
@given(changes=CHANGES)
def test_mutated_files_raise_only_our_errors(tmp_path, name, changes):
    path = write(tmp_path, name, mutated(GOOD[name], changes))
    only_our_errors(READERS[name], path)
    only_our_errors(check_file, path)


@quiet
@given(
    rows=st.lists(
        st.lists(
            st.text(max_size=6) | st.sampled_from(["C4", "14.2", "1", "front", ""]), max_size=9
        ),
        max_size=6,
    )
)
def test_rows_of_random_cells_raise_only_our_errors(tmp_path, rows):
    text = "\n".join((RACK, *(",".join(row) for row in rows)))
    only_our_errors(read_rack, write(tmp_path, "rack.csv", text.encode("utf-8", "surrogatepass")))


@pytest.fixture(scope="module")
def workbook(tmp_path_factory):
    rows = [RACK.split(","), ["A-01", "C4", -2.5, 14.2, "front", "b1", 12, 1.8]]
    return with_shared_texts(write_xlsx(tmp_path_factory.mktemp("book"), rows))


@quiet
@given(changes=CHANGES)
def test_mutated_workbooks_raise_only_our_errors(tmp_path, workbook, changes):
    data = mutated(workbook.read_bytes(), changes)
    only_our_errors(read_rack, write(tmp_path, "rack.xlsx", data))


@pytest.mark.parametrize(
    "part",
    [SHEET, TEXTS, TYPES, "xl/styles.xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"],
)
@quiet
@given(changes=CHANGES)
def test_mutated_parts_of_workbooks_raise_only_our_errors(tmp_path, workbook, part, changes):
    with zipfile.ZipFile(workbook) as archive:
        data = repacked(workbook, part, mutated(archive.read(part), changes))
    only_our_errors(read_rack, write(tmp_path, "rack.xlsx", data))
