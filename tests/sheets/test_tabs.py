"""Tab on paper: every tune with its title, its tab, its costs, and the legend on every page."""

import re
import xml.etree.ElementTree as ET

import pypdf
import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.reach import sounds
from combwright.playing.costs import preset
from combwright.playing.tabbing import LEGEND, OCTAVES, tab, way_text
from combwright.sheets.tabs import TabSheet, brief, cost_words, tab_lines_svg, tab_pages
from combwright.tunes.opening import read_tune_bytes
from sheets.examples import texts
from sheets.test_drawing import SVG

COSTS = preset("intermediate")
WAYS = sounds(catalogue_layout("standard"))
SHEET = TabSheet("Standard layout, key of C")
AIR = "X:1\nT:An air, #1 <b>*made up*</b>\nM:3/4\nL:1/8\nK:F\nC|F2A2c2|G,4^c2|f6|]\n"


def tabs_of(abc, shifts=(0,)):
    return [tab(tune, WAYS, COSTS, shifts) for tune in read_tune_bytes(abc.encode(), "a.abc").tunes]


@pytest.fixture
def air():
    (found,) = tabs_of(AIR)
    return found


def test_a_page_has_the_title_the_tab_the_facts_the_cost_and_the_legend(air):
    (page,) = texts(tab_pages([air], COSTS, SHEET))
    assert "An air, #1 <b>*made up*</b>" in page
    assert " ".join(way_text(way) for way in air.ways) in page
    assert "At the pitch at which it is written. 7 notes: 3 bent, 0 overbent, 1 not on" in page
    assert cost_words_of(air) in page
    assert LEGEND in page
    assert SHEET.instrument in page


def cost_words_of(found):
    return ". ".join(cost_words(found, COSTS))


def test_the_parts_of_the_cost_add_up(air):
    whole, parts = cost_words_of(air).removeprefix("Playing cost ").split(": ")
    assert sum(float(part.rsplit(" ", 1)[1]) for part in parts.split(", ")) == pytest.approx(
        float(whole)
    )


def test_what_cannot_be_played_is_marked_under_and_around_its_note(air):
    (svg,) = tab_lines_svg(air)
    root = ET.fromstring(svg)
    assert [text.text for text in root.iter(f"{SVG}text")].count("?") == air.unplayable == 1
    assert sum(each.get("class") == "not-there" for each in root.iter()) == 1


def test_many_tunes_have_contents_with_their_pages_and_every_page_its_number():
    abc = "\n".join(AIR.replace("X:1\nT:An air", f"X:{n}\nT:Air {n}") for n in range(1, 15))
    pdf = texts(tab_pages(tabs_of(abc), COSTS, SHEET))
    assert pdf[0].startswith("Tab for 14 tunes")
    for n in range(1, 15):
        listed = re.search(rf"Air {n}, #1 .*? [. ]+ (\d+)", pdf[0])
        assert f"Air {n}, #1" in pdf[int(listed[1]) - 1]
    assert [f"page {n} of {len(pdf)}" in page for n, page in enumerate(pdf, 1)] == [True] * len(pdf)
    assert all(LEGEND in page for page in pdf)


def test_a_shift_is_said_in_octaves_or_semitones():
    (up,) = tabs_of(AIR, [12])
    (down,) = tabs_of(AIR, [-3])
    assert "Moved up 1 octave from where" in texts(tab_pages([up], COSTS, SHEET))[0]
    assert "Moved down 3 semitones from where" in texts(tab_pages([down], COSTS, SHEET))[0]


def test_remarks_of_the_reader_and_rounded_times_are_said():
    (odd,) = tabs_of("X:1\nL:1/8\nK:Zz\nC/512D\n")
    page = texts(tab_pages([odd], COSTS, SHEET))[0]
    assert "the key 'Zz' is not known" in page
    assert "were rounded to be written" in page


@pytest.mark.parametrize(("paper", "width"), [("A4", 595), ("letter", 612)])
def test_a_page_is_of_the_paper_that_is_asked(air, paper, width, tmp_path):
    path = tmp_path / "tab.pdf"
    path.write_bytes(tab_pages([air], COSTS, TabSheet("Standard", paper)))
    assert round(pypdf.PdfReader(path).pages[0].mediabox.width) == width


def test_the_same_tabs_give_the_same_bytes(air):
    assert tab_pages([air], COSTS, SHEET) == tab_pages([air], COSTS, SHEET)


def test_progress_is_told_for_every_tune(air):
    told = []
    tab_pages([air] * 3, COSTS, SHEET, progress=lambda *each: told.append(each))
    assert told == [(1, 3), (2, 3), (3, 3)]


def test_in_brief_the_hardest_is_named_first(air):
    assert brief(air).startswith("1 not there")
    (easy,) = tabs_of("X:1\nK:C\nCEG\n", OCTAVES)
    assert brief(easy) == "natural notes"


def test_a_tune_of_many_lines_is_one_picture_a_line_on_a_telephone_too():
    (long,) = tabs_of("X:1\nT:Long\nM:C\nL:1/8\nK:C\n" + "CEGc ecGE|" * 24 + "\n")
    wide, narrow = tab_lines_svg(long), tab_lines_svg(long, narrow=True)
    assert 1 < len(wide) < len(narrow)
    for lines in (wide, narrow):
        drawn = [t.text for svg in lines for t in ET.fromstring(svg).iter(f"{SVG}text")]
        assert drawn == [way_text(way) for way in long.ways]


def test_the_longest_titles_and_sources_leave_one_another_room():
    long = "X:1\nT:" + "An air of many words " * 30 + "\nK:C\nCEG\n"
    (tune,) = read_tune_bytes(long.encode(), "folder/" * 40 + "book.abc").tunes
    (page,) = texts(tab_pages([tab(tune, WAYS, COSTS)], COSTS, SHEET))
    assert "folder/book.abc, row 1" in page
    assert "An air of many words An air of many words" in page
