import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from combwright.allocation.workshop import LabelSheet, Workshop
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.labels import (
    LEAST_HEIGHT_MM,
    LEAST_WIDTH_MM,
    Label,
    label_places,
    labels_pdf,
)
from sheets.examples import codes, pictures, texts

# ISO 216 for A4; letter is 8.5 by 11 inches (docs/sources.md, [iso-216]).
PAPERS = {"A4": (210.0, 297.0), "letter": (8.5 * 25.4, 11 * 25.4)}
DPI = 200


def labels(count):
    return [Label(f"A-{n:02d}", "F#5", ("batch lot 7", "front mount")) for n in range(count)]


@pytest.mark.parametrize("paper", PAPERS)
def test_labels_lie_where_the_sheet_has_its_places(paper):
    sheet = LabelSheet(rows=7, columns=3, top_mm=15, left_mm=8, gap_x_mm=3, gap_y_mm=1)
    width, height = PAPERS[paper]
    wide, high = (width - 16 - 6) / 3, (height - 30 - 6) / 7
    (page,) = pictures(
        labels_pdf(labels(21), workshop=Workshop(labels=sheet, paper=paper)), dpi=DPI
    )
    found = {text: (x * 25.4 / DPI, y * 25.4 / DPI) for text, (x, y) in codes(page)}
    assert len(found) == 21
    for number in range(21):
        row, column = divmod(number, 3)
        left, top = 8 + column * (wide + 3), 15 + row * (high + 1)
        x, y = found[f"A-{number:02d}"]
        assert left < x < left + wide / 2  # the code stands in the left half
        assert y == pytest.approx(top + high / 2, abs=0.8)  # and half way down


@given(
    rows=st.integers(1, 20),
    columns=st.integers(1, 6),
    top=st.floats(0, 30),
    left=st.floats(0, 30),
    gaps=st.tuples(st.floats(0, 8), st.floats(0, 8)),
    paper=st.sampled_from(sorted(PAPERS)),
)
def test_labels_never_overlap_or_leave_the_paper(rows, columns, top, left, gaps, paper):
    sheet = LabelSheet(rows, columns, top, left, *gaps)
    try:
        places = label_places(sheet, paper)
    except BadSheet:
        assume(False)
    width, height = PAPERS[paper]
    assert len(places) == rows * columns
    first, last = places[0], places[-1]
    assert first.width_mm >= LEAST_WIDTH_MM
    assert first.height_mm >= LEAST_HEIGHT_MM
    assert (first.x_mm, first.y_mm) == (left, top)
    assert last.x_mm + last.width_mm == pytest.approx(width - left)
    assert last.y_mm + last.height_mm == pytest.approx(height - top)
    if columns > 1:
        assert places[1].x_mm == pytest.approx(first.x_mm + first.width_mm + gaps[0])
    if rows > 1:
        assert places[columns].y_mm == pytest.approx(first.y_mm + first.height_mm + gaps[1])


def test_too_many_rows_are_refused_with_the_numbers():
    with pytest.raises(
        BadSheet, match=r"30 rows .* A4 \(297 mm\) .* 9\.1 mm .* least height is 10 mm"
    ):
        label_places(LabelSheet(rows=30), "A4")


def test_margins_that_leave_nothing_are_refused():
    with pytest.raises(BadSheet, match=r"8 rows .* letter .* leave nothing for the labels"):
        label_places(LabelSheet(top_mm=150), "letter")


def test_too_many_columns_are_refused():
    with pytest.raises(BadSheet, match=r"8 columns .* \(210 mm\) .* least width is 24 mm"):
        label_places(LabelSheet(columns=8), "A4")


def test_a_sheet_without_rows_or_with_a_negative_margin_is_refused():
    with pytest.raises(BadSheet, match="0 rows holds none"):
        label_places(LabelSheet(rows=0), "A4")
    with pytest.raises(BadSheet, match=r"left_mm .* is -1; give 0 or more"):
        label_places(LabelSheet(left_mm=-1), "A4")
    with pytest.raises(BadSheet, match=r"gap_y_mm .* is nan"):
        label_places(LabelSheet(gap_y_mm=float("nan")), "A4")


def test_labels_run_on_to_the_next_sheet():
    pages = pictures(labels_pdf(labels(26), workshop=Workshop()), dpi=DPI)
    assert [len(codes(page)) for page in pages] == [24, 2]


def test_a_sheet_partly_used_goes_on_where_it_was_left():
    (page,) = pictures(labels_pdf(labels(1), workshop=Workshop(), used=4), dpi=DPI)
    ((_, (x, y)),) = codes(page)
    place = label_places(LabelSheet(), "A4")[4]
    assert place.x_mm < x * 25.4 / DPI < place.x_mm + place.width_mm
    assert place.y_mm < y * 25.4 / DPI < place.y_mm + place.height_mm


@pytest.mark.parametrize("used", [-1, 24])
def test_more_used_places_than_a_sheet_has_are_refused(used):
    with pytest.raises(BadSheet, match=f"{used} places .* give 0 to 23"):
        labels_pdf(labels(1), workshop=Workshop(), used=used)


def test_no_labels_are_refused():
    with pytest.raises(BadSheet, match="no labels to print"):
        labels_pdf([], workshop=Workshop())


def test_what_a_label_says_is_read_back_in_order():
    (text,) = texts(labels_pdf([Label("A-7", "F#5", ("lot 7", "rear mount"))], workshop=Workshop()))
    assert text == "A-7 F#5 lot 7 rear mount"


@pytest.mark.parametrize(
    "sheet", [LabelSheet(), LabelSheet(rows=16, columns=5, top_mm=10, left_mm=8)]
)
@pytest.mark.parametrize(
    "label",
    [
        Label("A" * 60, "B" * 90, ("C" * 300, "D" * 300)),
        Label("an order with many words " * 4, "due 2026-05-04", ("key of low F " * 30,) * 5),
        Label("W" * 500, "W" * 500, ("W" * 500,) * 12),
    ],
)
def test_long_texts_never_leave_their_label(sheet, label):
    workshop = Workshop(labels=sheet)
    middle = sheet.columns * (sheet.rows // 2) + 1
    (page,) = pictures(labels_pdf([label], workshop=workshop, used=middle), dpi=DPI)
    place = label_places(sheet, "A4")[middle]
    rows, columns = np.nonzero(page < 250)
    left, top = (edge * DPI / 25.4 for edge in (place.x_mm, place.y_mm))
    assert left - 1 <= columns.min()
    assert columns.max() <= left + place.width_mm * DPI / 25.4 + 1
    assert top - 1 <= rows.min()
    assert rows.max() <= top + place.height_mm * DPI / 25.4 + 1


def test_a_name_that_is_rather_long_is_still_printed_in_full():
    name = "RACK-NORTH-SHELF-12-BIN-0007"
    (text,) = texts(labels_pdf([Label(name, "F#5", ("lot 7",))], workshop=Workshop()))
    assert name in text.replace(" ", "")


def test_the_same_labels_give_the_same_bytes():
    assert labels_pdf(labels(5), workshop=Workshop()) == labels_pdf(labels(5), workshop=Workshop())
