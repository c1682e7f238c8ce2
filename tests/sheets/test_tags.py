import io

import cv2
import numpy as np
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.codes import modules_of, qr_code
from combwright.sheets.fit_sheet import fit_sheet_pdf
from combwright.sheets.label_sizes import LabelSize
from combwright.sheets.tags import LEAST_MODULE_MM, Tag, parted, sheets_for, tags_pdf
from combwright.sheets.typeset import press
from sheets.examples import codes, pictures, texts

ORIGIN = "http://192.168.1.20:8000/papers/s/b/"
DPI = 200
MM = DPI / 25.4
SIZES = {
    "large sheet": LabelSize(105, 74, "A4", 2, 4, 0, 0.5),
    "middle sheet": LabelSize(70, 37, "A4", 3, 8, 0, 0.5),
    "small sheet": LabelSize(35, 20, "A4", 5, 14, 12.5, 8.5, 2.5),
    "letter sheet": LabelSize(60, 30, "letter", 3, 8, 12.95, 15.7, 5, 1),
    "roll": LabelSize(50, 25),
    "narrow roll": LabelSize(30, 15),
    "tiny roll": LabelSize(12, 12),
    "upright roll": LabelSize(20, 40),
}


@pytest.fixture(scope="module")
def shared():
    with press() as opened:
        yield opened


def tag(number=7, code=None):
    code = code or f"A-07-{number}"
    return Tag(
        code, (ORIGIN + code, f"B:{code}"), "F#5 −3.5 cents",
        ("slot 14.20 mm, front mount", "batch L-2026-07", "place A-07"),
    )  # fmt: skip


@pytest.mark.parametrize("name", SIZES)
def test_every_code_is_read_by_two_readers_at_200_dots_an_inch(name, shared):
    size = SIZES[name]
    many = min(size.on_a_sheet, 24) if size.paper else 3
    made = [tag(n) for n in range(many)]
    held = [parted(each, size).held for each in made]
    pages = pictures(tags_pdf(made, size, shared=shared), dpi=DPI)
    assert sorted(text for page in pages for text, _ in codes(page)) == sorted(held)
    for place, text in zip(size.places() * many, held, strict=False):
        page = pages[0] if size.paper else pages[held.index(text)]
        left, top = round(place.x_mm * MM), round(place.y_mm * MM)
        right, bottom = round(left + size.width_mm * MM), round(top + size.height_mm * MM)
        assert text in seen_by_opencv(page[top:bottom, left:right])


def seen_by_opencv(label):
    """What the second reader sees of a label shown in three sizes, as a camera comes nearer."""
    shown = cv2.copyMakeBorder(label, 30, 30, 30, 30, cv2.BORDER_CONSTANT, value=255)
    sizes = [cv2.resize(shown, None, fx=n, fy=n, interpolation=cv2.INTER_CUBIC) for n in (1, 2, 3)]
    return [cv2.QRCodeDetector().detectAndDecode(each)[0] for each in sizes]


@pytest.mark.parametrize("name", SIZES)
def test_the_code_s_modules_are_never_finer_than_a_camera_reads(name):
    assert parted(tag(), SIZES[name]).module_mm >= LEAST_MODULE_MM


@pytest.mark.parametrize("name", [name for name, size in SIZES.items() if size.paper])
def test_the_codes_lie_where_the_sheet_has_its_labels(name, shared):
    size = SIZES[name]
    box = parted(tag(1), size).code
    made = [tag(1) for _ in range(size.on_a_sheet)]
    (page,) = pictures(tags_pdf(made, size, shared=shared), dpi=DPI)
    found = [(x / MM, y / MM) for _text, (x, y) in codes(page)]
    assert len(found) == size.on_a_sheet
    for number in range(size.on_a_sheet):
        row, column = divmod(number, size.columns)
        left = size.left_mm + column * (size.width_mm + size.gap_x_mm)
        top = size.top_mm + row * (size.height_mm + size.gap_y_mm)
        middle = left + box.x + box.width / 2, top + box.y + box.height / 2
        assert min(np.hypot(x - middle[0], y - middle[1]) for x, y in found) < 0.3


@pytest.mark.parametrize("name", SIZES)
def test_a_page_is_as_large_as_its_paper_or_on_a_roll_as_its_label(name, shared):
    # ISO 216 for A4; letter is 8.5 by 11 inches (docs/sources.md, [iso-216]).
    papers = {"A4": (210, 297), "letter": (215.9, 279.4)}
    size = SIZES[name]
    page = pypdf.PdfReader(io.BytesIO(tags_pdf([tag()], size, shared=shared))).pages[0].mediabox
    wide, high = papers.get(size.paper, (size.width_mm, size.height_mm))
    assert float(page.width) / 72 * 25.4 == pytest.approx(wide, abs=0.05)
    assert float(page.height) / 72 * 25.4 == pytest.approx(high, abs=0.05)


def test_a_label_with_room_says_everything(shared):
    (text,) = texts(tags_pdf([tag()], SIZES["middle sheet"], shared=shared))
    assert text == ("A-07-7 F#5 −3.5 cents slot 14.20 mm, front mount batch L-2026-07 place A-07")


def test_a_tiny_label_says_its_code_alone_and_holds_a_mark(shared):
    size = SIZES["tiny roll"]
    assert parted(tag(), size).held == "B:A-07-7"
    assert texts(tags_pdf([tag()], size, shared=shared)) == ["A-07-7"]


def test_the_lesser_lines_go_first(shared):
    lines = tuple(f"line {n} of many words that take room" for n in range(9))
    said = Tag("A-07-7", ("B:A-07-7",), "F#5", lines)
    (text,) = texts(tags_pdf([said], LabelSize(40, 16), shared=shared))
    assert text.startswith("A-07-7 F#5 line 0")
    assert "line 8" not in text


LONG = {
    "long": "RACK-NORTH-SHELF-12-BIN-0007-FRONT-ROW-2",
    "wide": "W" * 40,
    "spaced": "the drawer under the window on the left",
    "greek": "ΑΒΓ-Ωμέγα-12",
    "han": "棚卸-第七-引出",
    "arabic": "رف-٧-درج",
    "umlauts": "Größe/Maß ä",
    "joined": "A\u200d\u0301\u20e3-🎵-7",
}


@pytest.mark.parametrize("name", SIZES)
@pytest.mark.parametrize("kind", LONG)
def test_no_text_leaves_its_label_however_it_is_written(name, kind, shared):
    size = SIZES[name]
    said = Tag(LONG[kind], (f"B:{LONG[kind]}",), "C#6 +1.5 cents", ("W" * 60, "word " * 40))
    middle = size.on_a_sheet // 2 + 1 if size.paper else 1
    try:
        pdf = tags_pdf([said], size, begin=middle, shared=shared)
    except BadSheet as error:
        # Where a code or a name cannot be read the run is refused, with the size that would do.
        assert name in ("tiny roll", "narrow roll")
        assert "larger" in str(error)  # noqa: PT017
        return
    (page,) = pictures(pdf, dpi=DPI)
    place = size.places()[middle - 1]
    rows, columns = np.nonzero(page < 250)
    assert place.x_mm * MM - 1 <= columns.min()
    assert columns.max() <= (place.x_mm + size.width_mm) * MM + 1
    assert place.y_mm * MM - 1 <= rows.min()
    assert rows.max() <= (place.y_mm + size.height_mm) * MM + 1


@pytest.mark.parametrize("name", [name for name, size in SIZES.items() if size.paper])
def test_nothing_is_printed_where_desk_printers_leave_the_paper_white(name, shared):
    size = SIZES[name]
    full = [tag(n) for n in range(size.on_a_sheet)]
    (page,) = pictures(tags_pdf(full, size, shared=shared), dpi=DPI)
    rows, columns = np.nonzero(page < 200)
    edge = 4.2 * MM
    assert columns.min() >= edge
    assert columns.max() <= page.shape[1] - edge
    assert rows.min() >= edge
    assert rows.max() <= page.shape[0] - edge


def test_a_code_without_room_is_refused_with_the_size_that_would_do():
    said = Tag("A-07-7", (ORIGIN + "A-07-7",))
    with pytest.raises(BadSheet, match=r"'A-07-7' .* 12\.2 mm; a label of 12 x 12 mm .* 13 x 15"):
        parted(said, SIZES["tiny roll"])
    assert parted(said, LabelSize(13, 15)).held.endswith("A-07-7")


def test_a_name_too_long_to_read_is_refused_by_name(shared):
    with pytest.raises(BadSheet, match=r"'W{40}' is too long .* 12 x 12 mm; take larger labels"):
        tags_pdf([Tag("W" * 40, ("B:1",))], SIZES["tiny roll"], shared=shared)


def test_a_used_sheet_is_begun_where_it_was_left_and_runs_on(shared):
    size = SIZES["middle sheet"]
    pages = pictures(tags_pdf([tag(n) for n in range(3)], size, begin=23, shared=shared), dpi=DPI)
    assert [len(codes(page)) for page in pages] == [2, 1]
    assert sheets_for(3, size, 23) == 2
    assert sheets_for(2, size, 23) == 1


@pytest.mark.parametrize("begin", [0, 25])
def test_a_sheet_cannot_begin_at_a_label_it_has_not(begin):
    with pytest.raises(BadSheet, match=f"labels 1 to 24; it cannot begin at {begin}"):
        tags_pdf([tag()], SIZES["middle sheet"], begin=begin)


def test_no_labels_are_refused():
    with pytest.raises(BadSheet, match="no labels to print"):
        tags_pdf([], SIZES["roll"])


@pytest.mark.parametrize(
    ("size", "said"),
    [
        (LabelSize(70, 37, "A4", 4, 8), r"4 columns of 70 mm .* need 280\.0 mm, but A4 is 210 mm"),
        (LabelSize(70, 37, "A4", 3, 9), r"9 rows of 37 mm .* need 333\.0 mm, but A4 is 297 mm"),
        (LabelSize(70, 37, "letter", 3, 8), r"8 rows .* letter is 279\.4 mm high"),
        (LabelSize(70, 37, "A4", 3, 8, 0, 2), r"margin of 2 mm .* need 298\.0 mm"),
        (LabelSize(7, 37), r"7 mm wide cannot be; give 8 to 300 mm"),
        (LabelSize(20, float("nan")), r"nan mm high cannot be"),
        (LabelSize(20, 20, "A4", 0, 1), r"0 columns cannot be; give 1 to 40"),
        (LabelSize(20, 20, "A4", 1, 1, -1), r"-1 mm cannot be; give 0 or more"),
    ],
)
def test_sizes_that_do_not_fit_the_paper_are_refused_with_the_numbers(size, said):
    with pytest.raises(BadSheet, match=said):
        size.places()


@given(
    st.builds(
        LabelSize,
        width_mm=st.floats(8, 120), height_mm=st.floats(8, 120),
        paper=st.sampled_from(["A4", "letter"]), columns=st.integers(1, 8), rows=st.integers(1, 12),
        left_mm=st.floats(0, 20), top_mm=st.floats(0, 20),
        gap_x_mm=st.floats(0, 5), gap_y_mm=st.floats(0, 5),
    )
)  # fmt: skip
def test_labels_lie_on_the_paper_and_apart_or_are_refused(size):
    wide, high = size.page_mm
    try:
        places = size.places()
    except BadSheet:
        right = size.left_mm + size.columns * size.width_mm + (size.columns - 1) * size.gap_x_mm
        bottom = size.top_mm + size.rows * size.height_mm + (size.rows - 1) * size.gap_y_mm
        assert right > wide or bottom > high
        return
    assert len(places) == size.on_a_sheet
    assert places[-1].x_mm + size.width_mm <= wide + 0.06
    assert places[-1].y_mm + size.height_mm <= high + 0.06
    if size.columns > 1:
        assert places[1].x_mm - places[0].x_mm >= size.width_mm - 1e-9


@settings(max_examples=60)
@given(
    st.floats(8, 300),
    st.floats(8, 300),
    st.text(st.characters(codec="utf-8"), min_size=1, max_size=40),
)
def test_code_and_words_never_leave_the_label_nor_touch(width, height, code):
    said = Tag(code, (ORIGIN + code, f"B:{code}"))
    try:
        parts = parted(said, LabelSize(width, height))
    except BadSheet as error:
        assert "Take labels of" in str(error)  # noqa: PT017
        return
    for box in (parts.code, parts.words):
        assert min(box.x, box.y) >= -1e-9
        assert box.x + box.width <= width + 1e-9
        assert box.y + box.height <= height + 1e-9
    beside = parts.code.x + parts.code.width <= parts.words.x + 1e-9
    above = parts.code.y + parts.code.height <= parts.words.y + 1e-9
    assert beside or above
    assert parts.module_mm >= LEAST_MODULE_MM - 1e-9


@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=200))
def test_how_many_modules_a_code_takes_is_known_before_it_is_drawn(text):
    assert modules_of(text, mends="M") == qr_code(text, mends="M").modules


def test_the_test_sheet_has_every_label_s_outline_and_a_true_ruler(shared):
    size = SIZES["small sheet"]
    (page,) = pictures(fit_sheet_pdf(size, title="35 x 20", shared=shared), dpi=600)
    dark, scale = page < 140, 600 / 25.4

    def is_line(at_mm, band):
        near = band[:, round(at_mm * scale) - 2 : round(at_mm * scale) + 3]
        return near.any(axis=1).mean() > 0.95

    for place in size.places():
        rows = slice(round((place.y_mm + 5) * scale), round((place.y_mm + 15) * scale))
        assert is_line(place.x_mm, dark[rows])
        assert is_line(place.x_mm + size.width_mm, dark[rows])
        assert not is_line(place.x_mm + 0.8, dark[rows])
    # The ruler's long strokes stand 10 mm apart: dark 2.2 mm under the first label's edge.
    row = dark[round((size.top_mm + 2.2) * scale)]
    for tens in range(1, 9):
        middle = round((size.left_mm + 10 * tens) * scale)
        assert row[middle - 3 : middle + 4].any()


def test_the_same_labels_give_the_same_bytes():
    assert tags_pdf([tag()], SIZES["roll"]) == tags_pdf([tag()], SIZES["roll"])
