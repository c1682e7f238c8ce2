import json

import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.default_comb import default_comb
from combwright.files.answers import plan_answer
from combwright.files.check import check_file
from combwright.files.combs import comb_toml
from combwright.files.layouts import layout_toml
from files.test_answers import PLAN
from files.written import RACK, line_of, lines_of, write, write_xlsx

RACK_TEXT = f"{RACK}\nA,C4,0,14.2,front,b,1500,1\nB,C4,0,19,front,b,900,1\n"


@pytest.mark.parametrize(
    ("name", "text", "summary"),
    [
        ("a.csv", RACK_TEXT, "a.csv: a rack of 2 bins, 2,400 plates"),
        ("a.txt", RACK_TEXT, "a.txt: a rack of 2 bins, 2,400 plates"),
        ("a.csv", "bin,pitch,slot_mm,mount,count\n", "a.csv: a rack of 0 bins, 0 plates"),
        (
            "a.csv",
            "pitch,slot_mm,mount,count,arrives\nC4,14.2,front,1,2031-05-01\n",
            "a.csv: expected receipts in 1 bin, 1 plate",
        ),
        ("a.csv", "part,count\nscrew,4\n", "a.csv: 1 kind of parts"),
        (
            "a.csv",
            "order;key;layout;kit;quantity;split\nW;C;standard;5 draw;3;yes\n",
            "a.csv: 1 order, 3 instruments and 3 plates of kits",
        ),
        ("a.toml", comb_toml(default_comb()), "a.toml: a comb of 10 chambers, 4 kinds of parts"),
        (
            "a.toml",
            layout_toml(catalogue_layout("standard")),
            "a.toml: a layout of 10 holes, 20 reeds",
        ),
        (
            "a.toml",
            "[[seat]]\nhole = 1\nbreath = 'blow'\npitch = 'C4'",
            "a.toml: a layout of 10 holes, 1 reed",
        ),
        (
            "a.toml",
            "[[seat]]\nhole = 1\nbreath = 'blow'\ncents = 2",
            "a.toml: a temperament, 1 reed with cents of their own",
        ),
        (
            "a.toml",
            "[retune]\nraise_most_cents = 120",
            "a.toml: a workshop that files up to 120 cents up and 80 down",
        ),
        (
            "a.json",
            json.dumps(plan_answer(PLAN)),
            "a.json: a plan with 6 plates set aside for 2 orders",
        ),
    ],
)
def test_a_sound_file_of_any_kind_is_told_in_a_line(tmp_path, name, text, summary):
    assert check_file(write(tmp_path, name, text)).value == summary


def test_a_workbook_is_checked_as_a_csv_is(tmp_path):
    path = write_xlsx(tmp_path, [line.split(",") for line in RACK_TEXT.splitlines()])
    assert check_file(path, decimal="point").value == "rack.xlsx: a rack of 2 bins, 2,400 plates"


def test_warnings_are_handed_on(tmp_path):
    path = write(tmp_path, "rack.csv", RACK_TEXT)
    assert check_file(path).warnings == ()
    (warning,) = check_file(path, comb=default_comb()).warnings
    assert "row 3: bin B" in warning


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("a.csv", "colour,shape\nred,round\n", "a.csv is no rack, parts or orders: its first row"),
        ("a.csv", "", "a.csv is no rack, parts or orders"),
        ("a.toml", "colour = 1", "a.toml is no comb, layout, temperament or workshop"),
        ("a.toml", "colour", "a.toml is no sound TOML"),
        ("a.json", "{}", "a.json is no plan"),
        ("a.wav", "RIFF", "a.wav is of no kind that is checked; CSV, XLSX, TOML and JSON are"),
    ],
)
def test_a_file_of_no_known_kind_gives_one_clear_line(tmp_path, name, text, said):
    assert said in line_of(check_file, write(tmp_path, name, text))


def test_a_missing_file_is_named_whatever_its_kind(tmp_path):
    for name in ("a.csv", "a.toml", "a.json", "a.wav"):
        assert line_of(check_file, tmp_path / name).startswith("There is no file ")


def test_every_problem_of_the_file_is_told(tmp_path):
    path = write(tmp_path, "rack.csv", RACK_TEXT.replace("front", "left"))
    assert len(lines_of(check_file, path)) == 2
