"""The example set in a newcomer's hands: written, checked, planned as its guide says."""

import re
import shlex

import pytest

from cli.commands import combwright, combwright_apart, listing

pytestmark = pytest.mark.journey


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("newcomer") / "first" / "steps"
    answer = combwright_apart("example", folder)
    assert (answer.code, answer.err) == (0, "")
    assert sorted(answer.out.splitlines()) == sorted(str(path) for path in folder.iterdir())
    return folder


@pytest.fixture(scope="module")
def commands(folder):
    """The command lines of the guide."""
    guide = (folder / "READ-ME-FIRST.txt").read_text()
    return [shlex.split(line)[1:] for line in re.findall(r"^    (combwright .*)$", guide, re.M)]


def test_every_file_is_sound_and_its_kind_is_known(folder):
    files = sorted(path.name for path in folder.iterdir() if path.suffix in (".csv", ".toml"))
    answer = combwright("check", *files, cwd=folder)
    assert (answer.code, answer.err) == (0, "")
    assert [line.split(": ")[0] for line in answer.out.splitlines()] == files
    kinds = "a comb, expected receipts, a layout, 5 orders, 4 kinds of parts, playing costs, a rack"
    rest = ("a temperament", "a workshop")
    for line, kind in zip(answer.out.splitlines(), (*kinds.split(", "), *rest), strict=True):
        assert line.split(": ")[1].startswith(kind)


def test_the_guides_commands_do_what_the_guide_says(folder, commands):
    check, plan, expecting = commands
    assert (check[0], plan[0]) == ("check", "plan")
    assert combwright(*check, cwd=folder).code == 0
    orders = combwright(*plan, "--json", cwd=folder).document["orders"]
    ready = [order["order"] for order in orders if order["ready"]]
    assert ready == ["W-001", "W-002", "W-003", "W-004"]
    assert [order["order"] for order in orders if not order["ready"]] == ["W-004", "W-005"]
    orders = combwright(*expecting, "--json", cwd=folder).document["orders"]
    assert all(order["ready"] for order in orders)


def test_planning_without_any_of_the_other_files_works_too(folder):
    before = listing(folder)
    answer = combwright_apart("plan", "rack.csv", "orders.csv", cwd=folder)
    assert (answer.code, answer.err) == (0, "")
    assert "of 6 orders can be built in full now." in answer.out
    assert listing(folder) == before


def test_the_set_is_not_written_over_itself(folder):
    before = listing(folder)
    assert "is there already" in combwright("example", folder).error
    assert listing(folder) == before
