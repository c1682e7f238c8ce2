"""The picture of swaps: the comb with the swapped plates framed, and bars as long as the costs."""

import xml.etree.ElementTree as ET

import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.playing.costs import preset
from combwright.playing.lines import line_of
from combwright.playing.repertoire import repertoire_of
from combwright.playing.swap_answer import tell
from combwright.playing.swap_sets import swap_space
from combwright.playing.swapping import search
from combwright.sheets.swaps import swaps_svg
from combwright.tunes.opening import read_tune_bytes
from sheets.examples import COMB
from sheets.test_drawing import SVG, seat, written

COSTS = preset("intermediate")
#: A tune in A that leans on G#4 and A4, notes of 3 draw and 3 blow.
AIR = b"X:1\nT:Air\nL:1/8\nK:C\nGAGA CEGA|A2AG EDCA|\n"


@pytest.fixture(scope="module")
def answer():
    tunes = read_tune_bytes(AIR, "a.abc").tunes
    lines = [line_of(tune, COSTS) for tune in tunes]
    arrays, space = repertoire_of(lines), swap_space(catalogue_layout("standard"), 2)
    rounds = search(space, arrays, COSTS, most=2)
    return tell(rounds, space, tunes, lines, arrays, COSTS, key=0)


def bars(root):
    return [[float(r.get("width")) for r in g.iter(f"{SVG}rect") if r.get("class") in kinds]
            for kinds in (("before",), ("cost",))
            for g in [root]]  # fmt: skip


def test_the_bars_are_as_long_as_the_costs_beside_what_it_costs_as_it_is(answer):
    for narrow in (False, True):
        root = ET.fromstring(swaps_svg(answer, COMB, narrow=narrow))
        before, costs = bars(root)
        base = answer.base.found.cost
        wanted = [base, *(answer.of(each)[0].found.cost for each in answer.rounds)]
        assert len(set(before)) == 1
        assert costs == pytest.approx([before[0] * cost / base for cost in wanted], abs=0.05)
        assert before[0] == costs[0]


def test_every_swapped_plate_is_framed_and_says_what_it_was(answer):
    root = ET.fromstring(swaps_svg(answer, COMB))
    best = answer.best(1)[0].found.swaps
    frames = [each for each in root.iter() if each.get("class") == "next"]
    assert len(frames) == len(best) + 1  # one stands in the legend
    for swap in best:
        told = written(seat(root, swap.seat.hole, swap.seat.deck))
        assert any(text.startswith("was ") for text in told)
    assert "frame: swapped seat" in written(root)


def test_each_set_is_named_with_its_saving_and_its_figures(answer):
    told = written(ET.fromstring(swaps_svg(answer, COMB, narrow=True)))
    first = answer.of(answer.rounds[0])[0]
    assert "As it is" in told
    assert f"1 swapped: {first.found.swaps[0].text}" in told
    assert any("less" in text and "%" in text for text in told)
    assert any(text.endswith("bends in 100 notes") for text in told)


def test_the_picture_stands_alone(answer):
    svg = swaps_svg(answer, COMB)
    root = ET.fromstring(svg)
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))
    assert "style" not in svg
