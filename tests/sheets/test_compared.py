"""The picture of a comparison: every note told by shape and word, nothing drawn out of place."""

import xml.etree.ElementTree as ET

import numpy as np
import pytest

from combwright.comb.seats import Seat
from combwright.ear.comparing import compare
from combwright.ear.measures import Measured, Played
from combwright.sheets import look
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.band_bars import NOMINAL, band_bars
from combwright.sheets.compared import comparison_svg
from combwright.sheets.intervals import Panel
from combwright.sheets.pictures import check_picture, write_picture
from sheets.test_drawing import SVG, contrast, written

SEATS = [Seat(hole, "upper", "blow", 59 + hole) for hole in range(1, 11)]


def once(level=-26.0, cents=0.0, bands=0.0, **other):
    values = {
        "bands_db": np.full(20, -40.0) + bands, "room_db": np.full(20, -100.0), "sd_cents": 0.0,
        "spread_cents": 0.1, "attack_ms": 20.0, "unsure": False,
    } | other  # fmt: skip
    return Played(level, cents=cents, **values)


def found(changed, **options):
    """Return a comparison in which seats differ as `changed` says, by their hole."""
    rng = np.random.default_rng(1)

    def side(changes):
        return Measured({seat: (played(changes.get(seat.hole, {})),) for seat in SEATS})

    def played(change):
        return once(**{"level": rng.normal(-26, 0.1), "cents": rng.normal(0, 0.1)} | change)

    return compare(side({}), side(changed), SEATS, **options)


def drawn(comparison, names=("before.wav", "after.wav")):
    return ET.fromstring(comparison_svg(comparison, names))


def rows(root):
    return [g for g in root.iter(f"{SVG}g") if g.get("class", "").startswith("note ")]


def test_every_note_has_a_row_with_its_seat_and_its_verdict_in_words():
    root = drawn(found({2: {"level": -20.0}, 5: {"unsure": True}}))
    told = [written(row)[:3] for row in rows(root)]
    assert [row[0] for row in told] == [f"{hole} blow" for hole in range(1, 11)]
    assert [row[2] for row in told].count("the same") == 8
    assert (told[1][2], told[4][2]) == ("different", "cannot tell")
    title, about = list(root)[:2]
    assert title.text == "The same within 1.5 dB and 3 cents at 95 %: 8 of 10 notes"
    assert "Hole 2 blow: different, level +" in about.text


def test_no_verdict_is_told_by_colour_alone():
    root = drawn(found({2: {"level": -20.0}, 5: {"unsure": True}}))
    marks = [
        next(each.get("class") for each in row.iter() if "mark-" in each.get("class", ""))
        for row in rows(root)
    ]
    assert (marks[0], marks[1], marks[4]) == ("mark-same", "mark-different", "mark-untold")
    for colour in (look.INK, look.WRONG, look.QUIET):
        assert contrast(colour, look.PAPER) > 4.5
        assert contrast(colour, look.PLATE) > 4.5


def test_a_difference_beyond_the_panel_is_an_arrow_with_its_number():
    root = drawn(found({2: {"level": 4.0, "cents": -90.0}}))
    row = rows(root)[1]
    assert sum(each.get("class") == "beyond" for each in row.iter()) == 4
    numbers = [float(text.replace("\u2212", "-")) for text in written(row)[3:5]]
    assert numbers == pytest.approx([30, -90], abs=0.5)


def test_everything_lies_within_the_picture():
    root = drawn(found({2: {"level": 4.0}, 9: {"cents": 400.0}}), ("a" * 200, "b"))
    width, height = (float(v) for v in root.get("viewBox").split()[2:])
    for each in root.iter():
        for names, most in ((("x", "x1", "x2", "cx"), width), (("y", "y1", "y2", "cy"), height)):
            for name in names:
                assert 0 <= float(each.get(name, 0)) <= most


def test_zero_lies_in_the_middle_and_margins_as_far_on_either_side():
    panel = Panel(100, 200, 1.5, 6.0, "dB")
    assert (panel.at(0), panel.at(6), panel.at(-60)) == (200, 300, 100)
    assert panel.at(1.5) - panel.at(0) == panel.at(0) - panel.at(-1.5) == 25


def test_bars_stand_up_for_more_and_hang_for_less():
    bars = ET.fromstring(
        f'<svg xmlns="http://www.w3.org/2000/svg">'
        f"{band_bars([2.0, -1.0, None, *[0.5] * 17], 0, 0, 400, 200)}</svg>"
    )
    drawn_bars = [each for each in bars.iter() if each.get("class") == "band"]
    assert len(drawn_bars) == len(NOMINAL) - 1
    zero = float(drawn_bars[1].get("y"))
    assert float(drawn_bars[0].get("y")) + float(drawn_bars[0].get("height")) == pytest.approx(zero)
    assert set(NOMINAL) <= set(written(bars))


def test_levels_that_were_matched_are_said_to_be():
    louder = {hole: {"level": -20.0} for hole in range(1, 11)}
    assert any("levels as recorded" in text for text in written(drawn(found(louder))))
    matched = written(drawn(found(louder, match_levels=True)))
    assert any("levels matched: +6.0 dB taken out" in text for text in matched)


def test_a_picture_replaces_the_one_before_and_is_refused_where_it_cannot_stand(tmp_path):
    path = tmp_path / "compared.svg"
    for text in ("<svg>1</svg>", "<svg>2</svg>"):
        write_picture(path, text)
    assert path.read_text("utf-8") == "<svg>2</svg>"
    assert [each.name for each in tmp_path.iterdir()] == ["compared.svg"]
    (tmp_path / "folder.svg").mkdir()
    for wrong, why in (
        ("compared.png", "name it so: compared.png.svg"),
        ("folder.svg", "is a folder"),
        ("nowhere/compared.svg", "There is no folder"),
    ):
        with pytest.raises(BadSheet, match=why):
            check_picture(tmp_path / wrong)
