"""What playing costs is data: presets, files, and every way in which a file can be wrong."""

from dataclasses import fields, replace

import pytest

from combwright.comb.reach import Sound
from combwright.errors import CombwrightError
from combwright.files.check import check_file
from combwright.playing.costs import (
    COSTS_FILE,
    PRESETS,
    BadCosts,
    parse_costs,
    preset,
    read_costs,
)
from combwright.playing.lines import Step
from combwright.playing.programme import play

EVERY = """
like = "expert"
bend = [3, 4]
overbend = 9
along = 2
missing = 99
short = { under = 0.25, times = 3 }
breath = { change = 0.7, after_rest = 0.3, rest = 0.5 }
jump = { hole = 0.4, most = 1.1 }
"""


def lines_of(text):
    with pytest.raises(CombwrightError) as caught:
        parse_costs(text, name="mine.toml")
    return str(caught.value).splitlines()


def test_presets_get_easier():
    beginner, usual, expert = map(preset, PRESETS)
    assert preset(" Expert") is not None
    assert preset(" Expert") == expert
    for field in fields(usual):
        hard, middle, easy = (getattr(each, field.name) for each in (beginner, usual, expert))
        assert hard >= middle >= easy, field.name
    assert beginner.overbend > usual.overbend > expert.overbend


def test_a_file_changes_only_what_it_says(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text('like = "expert"\noverbend = 2\n[jump]\nhole = 0.5\n')
    assert read_costs(path).value == replace(preset("expert"), overbend=200, hole=50)
    assert parse_costs("", name="mine.toml").value == preset("intermediate")


def test_every_cost_can_be_set():
    costs = parse_costs(EVERY, name="mine.toml")
    assert costs.warnings == ()
    usual = preset("expert")
    assert all(getattr(costs.value, f.name) != getattr(usual, f.name) for f in fields(usual))
    assert costs.value.of_sound(Sound(60, "bend", 3, "draw", 5), short=True) == 1200
    assert costs.value.of_sound(Sound(60, "natural", 3, "draw", 0, 64), short=True) == 200


@pytest.mark.parametrize("name", PRESETS)
def test_a_phrase_in_one_breath_costs_nothing_and_each_change_in_it_does(name):
    costs = preset(name)
    ways = {n: (Sound(n, "natural", 4, breath, 0),) for n, breath in ((60, "blow"), (62, "draw"))}

    def cost(*notes, rested=()):
        steps = [Step(midi, False, n in rested) for n, midi in enumerate(notes)]
        return play(steps, ways, costs).cost

    assert cost(60, 60, 60) == 0
    assert cost(60, 62, 60) == 2 * costs.change > 0
    assert cost(60, 62, 60, rested=[1]) == costs.change + costs.change_after_rest
    assert cost(60, 62, 60, rested=[1, 2]) == 2 * costs.change_after_rest


def test_all_problems_of_a_file_are_told_at_once_one_line_each():
    text = 'like = "me"\nbend = [1, "x", 900]\noverbend = -1\n[breath]\nchange = true\nrest = nan'
    assert sorted(lines_of(text)) == [
        "mine.toml: bend: 'x' is no item of this list; a number is.",
        "mine.toml: bend: 900 is out of range; 0 to 500 is right.",
        "mine.toml: breath.change: true is not what is wanted here; give a number.",
        "mine.toml: breath.rest: NaN is out of range; 0 to 100 is right.",
        "mine.toml: like: 'me' is not known here; write beginner or intermediate or expert.",
        "mine.toml: overbend: -1 is out of range; 0 to 500 is right.",
    ]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("bend = []", "bend: is empty; give a cost for each depth, as in [1, 1.5, 2.5]."),
        ("bend = 2", "bend: 2 is not what is wanted here; give a list."),
        ("short = 2", "short: 2 is not what is wanted here; give a section."),
        ("missing = 600", "missing: 600 is out of range; 0 to 500 is right."),
        ("missing = 1", "A missing note costs 1, but the dearest note there is 13.2 with the ways "
                        "to and from it; give missing at least that."),
        ("bend = [1e999999]", "bend: 1E+999999 is out of range; 0 to 500 is right."),
    ],
)  # fmt: skip
def test_what_is_wrong_in_a_file_is_one_line(text, line):
    assert lines_of(text) == [f"mine.toml: {line}"]


def test_what_nobody_knows_is_named(tmp_path):
    read = parse_costs("overbned = 2\njump = { hoel = 1 }", name="mine.toml")
    assert read.warnings == ("mine.toml: not known and left out: overbned, jump.hoel.",)


def test_costs_by_which_notes_would_rather_be_missed_are_refused():
    with pytest.raises(BadCosts, match=r"A missing note costs 1, but the dearest note .* 13\.2"):
        replace(preset("intermediate"), missing=100, overbend=600)
    with pytest.raises(BadCosts, match="'wizard' is no kind of player; beginner, intermediate"):
        preset("wizard")


def test_a_file_of_costs_is_told_from_other_kinds(tmp_path):
    path = tmp_path / "mine.toml"
    for text in ('like = "expert"', "jump = { hole = 1 }", EVERY):
        path.write_text(text)
        line = check_file(path, others=[COSTS_FILE]).value
        assert line.startswith("mine.toml: playing costs: a bend ")
    path.write_text("colour = 1")
    with pytest.raises(CombwrightError, match="layout, temperament, file of playing costs or"):
        check_file(path, others=[COSTS_FILE])
