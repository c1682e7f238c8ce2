import re
import tomllib

import pytest

from combwright.demo.example import write_example
from combwright.files.check import check_file
from combwright.files.orders import ORDER_COLUMNS
from combwright.files.parts import PARTS_COLUMNS
from combwright.files.rack import EXPECTED_COLUMNS, RACK_COLUMNS
from combwright.playing.costs import COSTS_FILE, preset, read_costs
from demo.planned import placed, plan_folder, quiet, read_folder, ready_copies

NAMES = {
    "READ-ME-FIRST.txt", "rack.csv", "orders.csv", "parts.csv", "expected.csv",
    "comb.toml", "workshop.toml", "layout.toml", "temperament.toml", "player.toml",
}  # fmt: skip
TABLES = {
    "rack.csv": RACK_COLUMNS,
    "orders.csv": ORDER_COLUMNS,
    "parts.csv": PARTS_COLUMNS,
    "expected.csv": EXPECTED_COLUMNS,
}
SETTINGS = sorted(name for name in NAMES if name.endswith(".toml"))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("example")
    write_example(folder)
    return folder


@pytest.fixture(scope="module")
def guide(folder):
    return (folder / "READ-ME-FIRST.txt").read_text("utf-8")


def keys_of(data):
    """Return every key of a settings file, inner ones too."""
    for key, value in data.items():
        yield key
        inner = value if isinstance(value, list) else [value]
        for each in inner:
            if isinstance(each, dict):
                yield from keys_of(each)


def test_all_files_are_written_and_named(tmp_path):
    written = write_example(tmp_path / "a" / "new")
    assert {path.name for path in written} == NAMES
    assert sorted(written) == sorted((tmp_path / "a" / "new").iterdir())


def test_every_file_reads_back_without_a_warning(folder):
    for name in NAMES - {"READ-ME-FIRST.txt"}:
        quiet(check_file(folder / name, others=[COSTS_FILE]))
    read_folder(folder, expected=True)


def test_the_rack_holds_about_three_sets(folder):
    stock, orders, _ = read_folder(folder)
    assert 40 <= sum(each.count for each in stock.bins) <= 70
    assert len({order.name for order in orders}) == 5


def test_the_plan_is_what_the_guide_says(folder, guide):
    planned = plan_folder(folder)
    assert planned.proven
    assert ready_copies(planned) == {"W-001": 1, "W-002": 1, "W-003": 1, "W-004": 1}
    assert "instruments of W-001, W-002 and W-003 and one of the two sets" in " ".join(
        guide.split()
    )
    waiting = {order for each in planned.shortages for order in each.orders}
    assert waiting == {"W-004", "W-005"}
    assert any(plate.way == "file" for plate in placed(planned))


def test_with_what_is_expected_the_plan_serves_all(folder):
    planned = plan_folder(folder, expected=True)
    assert all(served.ready for served in planned.served)
    arrivals = {served.order.name for served in planned.served if served.arrives}
    assert arrivals == {"W-004", "W-005"}


@pytest.mark.parametrize("name", TABLES)
def test_the_tables_show_every_column_that_there_is(folder, name):
    header = (folder / name).read_text("utf-8").splitlines()[0].split(",")
    optional = {"cents", "held"} if name == "expected.csv" else set()
    assert set(header) | optional == {column.name for column in TABLES[name]}


def test_the_guide_explains_every_column_and_marks_those_that_must_be_there(guide):
    told = {
        (title, found["name"]): bool(found["must"])
        for title, section in _sections(guide).items()
        for found in re.finditer(r"^  (?P<name>\w+)(?P<must> \(\*\))?  +\S", section, re.MULTILINE)
    }
    for name, columns in TABLES.items():
        for column in columns:
            if name == "expected.csv" and (name, column.name) not in told:
                assert ("rack.csv", column.name) in told  # it says that the rack's columns hold
            else:
                assert told[name, column.name] == column.must


def _sections(guide):
    parts = re.split(r"^(\w+\.csv|THE SETTINGS)(?=[: ])", guide, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


@pytest.mark.parametrize("name", SETTINGS)
def test_the_guide_explains_every_key(folder, guide, name):
    start = guide.index(f"\n{name}:")
    section = guide[start : start + 1200]
    data = tomllib.loads((folder / name).read_text("utf-8"))
    keys = set(keys_of(data)) - set(data.get("parts", ()))
    missing = {key for key in keys if not re.search(rf"\b{key}\b", section)}
    assert not missing


@pytest.mark.parametrize("name", SETTINGS)
def test_every_line_of_the_settings_is_commented(folder, name):
    for line in (folder / name).read_text("utf-8").splitlines():
        if name == "layout.toml" and line.startswith("blow"):
            assert "#" in line.split("]")[1]
        assert not line or "#" in line, line


def test_files_are_narrow_enough_to_read(folder):
    long = {
        (name, line)
        for name in NAMES
        for line in (folder / name).read_text("utf-8").splitlines()
        if len(line) > 100 and not line.startswith("    combwright ")
    }
    assert not long


def test_the_workshop_shows_the_values_that_hold_without_it(folder):
    _, _, workshop = read_folder(folder)
    assert workshop == type(workshop)()


def test_the_player_shows_the_costs_of_a_practised_one_and_leaves_none_out(folder):
    assert quiet(read_costs(folder / "player.toml")) == preset("intermediate")
    data = tomllib.loads((folder / "player.toml").read_text("utf-8"))
    assert set(data) == set(COSTS_FILE.keys)


def test_the_bytes_are_the_same_twice(folder, tmp_path):
    for path in write_example(tmp_path):
        assert path.read_bytes() == (folder / path.name).read_bytes()
        assert b"\r" not in path.read_bytes()
