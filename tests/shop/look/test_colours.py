import re
from itertools import pairwise

import pytest

from combwright.sheets import look as sheets_look
from combwright.shop.look.examples import drawn_comb
from shop.look.palette import STYLE, contrast, palette

GROUNDS = ("paper", "sheet", "plate", "comb", "wrong-wash")
#: WCAG 2.2, 1.4.3: text 4.5 to 1; 1.4.11: parts and drawings 3 to 1 (docs/sources.md, [wcag-22]).
TEXT, PART = 4.5, 3.0
TEXTS = [
    *((word, ground) for word in ("ink", "quiet", "next", "wrong") for ground in GROUNDS),
    ("on-next", "next"),
    ("on-next", "next-strong"),
    ("paper", "ink"),
    *(("on-heat", f"heat-{level}") for level in (1, 2, 3, 4)),
    *(("on-deep-heat", f"heat-{level}") for level in (5, 6)),
]
PARTS = [
    *((part, ground) for part in ("ink", "quiet", "next", "wrong") for ground in GROUNDS),
    *(("brass", ground) for ground in ("paper", "sheet", "plate")),
]
SCHEMES = ("light", "dark")


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(("word", "ground"), TEXTS)
def test_text_reads_on_every_ground_it_is_set_on(word, ground, scheme):
    colours = palette(scheme)
    assert contrast(colours[word], colours[ground]) >= TEXT


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(("part", "ground"), PARTS)
def test_borders_marks_and_drawings_stand_out(part, ground, scheme):
    colours = palette(scheme)
    assert contrast(colours[part], colours[ground]) >= PART


@pytest.mark.parametrize("scheme", SCHEMES)
def test_each_level_of_the_heat_map_is_further_from_the_sheet(scheme):
    colours = palette(scheme)
    steps = [contrast(colours[f"heat-{level}"], colours["sheet"]) for level in range(1, 7)]
    assert steps == sorted(steps)
    assert all(after / before > 1.12 for before, after in pairwise(steps))


def test_contrast_is_that_of_black_on_white_and_of_a_colour_on_itself():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#a67f33", "#a67f33") == pytest.approx(1)


def test_in_daylight_pages_have_the_colours_of_the_printed_sheets():
    colours = palette("light")
    for token in ("ink", "paper", "plate", "comb", "brass", "next", "wrong", "quiet"):
        assert colours[token] == getattr(sheets_look, token.upper())


def test_every_colour_of_a_drawn_comb_has_its_counterpart_in_the_dark():
    used = set(re.findall(r'\b(fill|stroke)="(#[0-9a-f]{6})"', drawn_comb()))
    told = set(re.findall(r'\.comb \[(fill|stroke)="(#[0-9a-f]{6})"\]', STYLE.read_text("utf-8")))
    assert used
    assert used <= told


def test_no_colour_is_written_into_a_rule_beside_the_tokens():
    rules = STYLE.read_text("utf-8").split("@layer ground {", 1)[1]
    rules = re.sub(r'\[(fill|stroke)="#[0-9a-f]{6}"\]', "", rules)
    assert set(re.findall(r"#[0-9a-f]{3,8}\b", rules)) <= {"#fff"}  # white paper, in print
