"""How the command ends: its exit codes, its one line when something is wrong, a reader gone."""

import os
import re
import subprocess
from pathlib import Path

import pytest

import combwright
from cli.commands import COMMAND, combwright_apart
from cli.commands import combwright as run


def test_the_version_is_the_packages():
    answer = run("--version")
    assert (answer.code, answer.err) == (0, "")
    assert answer.out == f"combwright {combwright.__version__}\n"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["nonsense"], "No such command 'nonsense'"),
        (["non\nsense"], "No such command"),
        (["--nonsense"], "No such option: --nonsense"),
        (["plan", "--nonsense"], "No such option: --nonsense"),
        (["plan"], "Missing argument 'RACK'"),
        (["plan", "rack.csv"], "Missing argument 'ORDERS'"),
        (["plan", "rack.csv", "orders.csv", "more"], r"unexpected extra argument\(s\) \(more\)"),
        (["plan", "rack.csv", "orders.csv", "--keep"], "'--keep' requires an argument"),
        (["plan", "rack.csv", "orders.csv", "--json=yes"], "'--json' does not take a value"),
        (["plan", "rack.csv", "orders.csv", "--seconds", "soon"], "'soon' is no number"),
        (["plan", "rack.csv", "orders.csv", "--seconds", "0"], r"0 seconds .* give 0\.1 or more"),
        (["plan", "rack.csv", "orders.csv", "--seconds", "nan"], r"nan seconds .* give 0\.1"),
        (["can", "rack.csv", "--a4", "high"], "'high' is no number"),
        (["can", "rack.csv", "--a4", "500"], "500 Hz is out of range: give 415 to 466"),
        (["can", "rack.csv", "--key", "H"], "'H' is no key"),
        (["can", "rack.csv", "--layout", "third-blow"], "did you mean third-blow-raised"),
        (["can", "rack.csv", "--layout", "mine.toml"], r"There is no file mine\.toml"),
        (["can", "rack.csv", "--temperament", "pure"], "'pure' is no temperament: use equal"),
        (["can", "rack.csv", "--kit", "fifth draw"], "'fifth draw' names no seat"),
        (["can", "rack.csv", "--change", "5 draw"], "as in 5 draw=F#5"),
        (["can", "rack.csv", "--change", "5 draw=H5"], "'H5' is no note"),
        (["can", "rack.csv", "--change", "11 draw=F5"], "no hole 11: holes run from 1 to 10"),
        (["can", "rack.csv", "--blow", "C4"], "needs both --blow and --draw"),
        (["can", "rack.csv", "--blow", "C4 E4", "--draw", "D4"], "2 blow notes and 1 draw notes"),
        (["fit", "rack.csv", "comb.toml", "--seat", "3"], "'3' names no seat"),
        (["fit", "rack.csv", "comb.toml", "--seat", "11 upper"], "There is no hole 11"),
        (["fit", "rack.csv"], "Missing argument 'COMB'"),
        (["show", "nothing"], "no layout 'nothing' in the catalogue"),
        (["show", "standard", "--scale", "odd"], "'odd' is no scale: use major"),
        (["show", "standard", "--against", "odd"], "no layout 'odd'"),
        (["check"], "Missing argument 'FILE'"),
        (["check", "gone.csv"], r"There is no file gone\.csv"),
        (["example", "."], r"rack\.csv is there already|READ-ME-FIRST\.txt is there already"),
        (["demo", "."], r"rack\.csv is there already"),
        (["plan", "rack.csv", "orders.csv", "--sheets", "rack.csv"], r"'rack\.csv' is a file"),
    ],
)
def test_what_is_asked_wrongly_gets_one_line_and_exit_code_2(example_set, arguments, says):
    before = sorted(example_set.iterdir())
    assert re.search(says, run(*arguments, cwd=example_set).error)
    assert sorted(example_set.iterdir()) == before


def test_a_wrong_option_is_one_line_of_the_real_command_too(tmp_path):
    assert "--nonsense" in combwright_apart("plan", "--nonsense").error
    assert "There is no file rack.csv." in combwright_apart("plan", "rack.csv", "orders.csv").error


def test_check_tells_the_problems_of_all_files_and_the_sound_ones_too(shop):
    (shop / "comb.toml").write_text("title = ")
    (shop / "rack.csv").write_text("bin,pitch\nA,H4\n")
    answer = run("check", "comb.toml", "parts.csv", "rack.csv", "gone.csv", cwd=shop)
    assert answer.code == 2
    assert answer.out == "parts.csv: 4 kinds of parts\n"
    lines = answer.err.splitlines()
    assert [re.search(r"comb\.toml|rack\.csv|gone\.csv", line)[0] for line in lines] == [
        "comb.toml", "rack.csv", "rack.csv", "gone.csv"
    ]  # fmt: skip


@pytest.mark.parametrize(
    "arguments",
    [["layouts"], ["layouts", "--json"], ["show", "standard"], ["--help"], ["fit", "rack.csv",
     "comb.toml"], ["plan", "rack.csv", "orders.csv"]],
)  # fmt: skip
def test_a_reader_that_has_gone_away_is_nothing_to_complain_about(example_set, arguments):
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "w") as pipe:
        done = subprocess.run(
            [COMMAND, *arguments], cwd=example_set, stdout=pipe, stderr=subprocess.PIPE, timeout=60
        )
    assert (done.returncode, done.stderr) == (0, b"")


def test_the_first_line_may_be_all_that_is_read(example_set):
    script = f"set -o pipefail; '{COMMAND}' show standard --json | head -1"
    done = subprocess.run(["bash", "-c", script], cwd=example_set, capture_output=True, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"{\n", b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_an_answer_that_has_no_room_is_refused_in_one_line():
    with Path("/dev/full").open("w") as full:
        done = subprocess.run([COMMAND, "layouts"], stdout=full, stderr=subprocess.PIPE, timeout=60)
    assert done.returncode == 2
    assert re.fullmatch(rb"Error: .*no space is left.*\n", done.stderr)


def test_letters_that_a_terminal_lacks_are_shown_by_number(shop):
    (shop / "rack.csv").write_text("bin,pitch,slot_mm,mount,count\nRegal-棚,C4,14,front,1\n")
    asked = ["fit", "rack.csv", "comb.toml", "--seat", "3 upper"]
    plain = combwright_apart(*asked, cwd=shop, env={**os.environ, "PYTHONIOENCODING": "latin-1"})
    assert (plain.code, plain.err) == (0, "")
    assert plain.out.startswith(r"Regal-\u68da ")
    assert run(*asked, cwd=shop).out.startswith("Regal-棚 ")
