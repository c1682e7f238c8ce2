import io
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pypdf
import pytest

from combwright.allocation.answer import Placed
from combwright.allocation.orders import Want
from combwright.allocation.workshop import Workshop
from combwright.comb.combs import Chamber, Comb
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.bench_words import CAUTIONS
from combwright.sheets.build_sheets import build_sheet_pdf
from combwright.sheets.from_plan import sheets_of
from combwright.sheets.order_sheets import CopySheet, KitLine, OrderSheet, PlateLine
from sheets.examples import (
    COMB,
    codes,
    pictures,
    placed,
    plan_of,
    served,
    standard_wants,
    stock_of,
    texts,
)


def sheet(*, name="W-017", **options):
    order = served(name, **options)
    return sheets_of(plan_of(order), stock_of(order), COMB).orders[0]


def printed(order_sheet, *, paper="A4"):
    return texts(build_sheet_pdf(order_sheet, workshop=Workshop(paper=paper)))


def line(hole=1, deck="upper", breath="blow", midi=60, cents=0.0, retune=0.0, way="none"):
    want = Want(hole, deck, breath, midi, cents, 20.0)
    return PlateLine(Placed(want, "A-1", "lot 7", retune, way, Decimal(2)), "front", 18.0)


def one(*lines, holes=10, **options):
    comb = Comb("Any", tuple(Chamber(20.0, 5, 4) for _ in range(holes)))
    return OrderSheet("W-1", (CopySheet(1, 1, comb, lines, **options),))


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_an_ordinary_order_fits_one_page(paper):
    assert len(printed(sheet(), paper=paper)) == 1


def test_the_seats_are_read_back_hole_by_hole():
    (text,) = printed(sheet())
    table = text[text.index("reed side") :]
    notes = [want.note for want in standard_wants()]
    # Every row writes its note between the reed's side and the hertz.
    assert re.findall(r"(?:down|up) ([A-G]#?\d) \d", table) == notes


def test_the_target_is_given_in_hertz():
    # Hertz of equal temperament at A4 = 440 Hz, docs/sources.md, [midi-tuning].
    (text,) = printed(sheet())
    for note, hertz in {"C4": "261.63", "G4": "392.00", "A5": "880.00", "C7": "2093.00"}.items():
        assert f"{note} {hertz} 0.0" in text


def test_cents_move_the_target():
    # 13.686 cents below E5 (659.255 Hz) is 5/4 of C5 (523.251 Hz): 654.06 Hz.
    (text,) = printed(one(line(midi=76, cents=-13.686)))
    assert "E5 654.06 \u221213.7" in text


@pytest.mark.parametrize(
    ("retune", "way", "words"),
    [
        (38.4, "file", "+38.4 raise: file tip"),
        (-24.0, "file", "\u221224.0 lower: file root"),
        (-60.0, "weight", "\u221260.0 lower: weight"),
        (-1.6, "none", "\u22121.6 touch up"),
        (0.04, "none", "0.0 as it is"),
    ],
)
def test_the_retune_is_given_with_its_direction_and_way(retune, way, words):
    assert words in printed(one(line(retune=retune, way=way)))[0]


@pytest.mark.parametrize(
    ("deck", "breath", "words"),
    [
        ("upper", "blow", "in down"),
        ("upper", "draw", "out up"),
        ("lower", "blow", "in up"),
        ("lower", "draw", "out down"),
    ],
)
def test_facing_says_which_way_the_reeds_side_looks(deck, breath, words):
    # Common practice, no source: on the upper deck the plate's underside faces in.
    assert f"{deck} {breath} A-1 lot 7 front {words}" in printed(one(line(1, deck, breath)))[0]


def test_the_steps_stand_in_the_order_of_work():
    # Common practice, no source.
    (text,) = printed(sheet(kit=[("5 draw", standard_wants()[9])]))
    order = [
        "Lay the plates out", "Seat every plate", "Covers off: tune", "Screw the covers on loosely",
        "behind the comb's front lip", "Tighten the screws", "Pack the one plate of the kit",
    ]  # fmt: skip
    places = [text.replace("\u2019", "'").index(step) for step in order]
    assert places == sorted(places)


def test_plates_to_retune_are_a_step_of_their_own():
    lines = (line(1, retune=20, way="file"), line(2, retune=-20, way="weight"), line(3, retune=2))
    assert "Retune the 2 plates marked raise or lower" in printed(one(*lines))[0]
    assert "Retune the" not in printed(sheet())[0]


def test_the_cautions_are_on_every_sheet():
    (text,) = printed(sheet())
    for caution in CAUTIONS:
        assert caution in text
    for word in (
        "lead",
        "eye protection",
        "extraction",
        "beryllium copper",
        "wash your hands",
        "disinfected",
    ):
        assert word in text
    assert "Local rules and licensed practice come first." in text


def test_order_due_date_priority_and_parts_are_printed_and_the_value_is_not():
    (text,) = printed(sheet(priority=2, promised=True))
    assert "W-017" in text
    assert "due 2026-05-04" in text
    assert "priority 2, promised" in text
    assert "parts 2 cover, 4 screw" in text
    assert "98765" not in text


def test_several_copies_share_one_drawing_and_each_have_a_table():
    text = " ".join(printed(sheet(copies=3)))
    assert text.count("upper deck") == 1
    assert text.count("facing reed side note") == 3
    assert "Row 1, copy 3" in text


def test_copies_of_another_design_get_their_own_drawing():
    first, other = sheet().copies[0], sheet(wants=standard_wants()[:4]).copies[0]
    both = replace(sheet(), copies=(first, replace(other, row=2)))
    assert " ".join(printed(both)).count("upper deck") == 2


def test_a_copys_table_is_not_torn_in_two():
    for page in printed(sheet(copies=4)):
        assert page.count(" upper blow ") % 10 == 0


def test_a_drawing_with_an_empty_seat_says_so():
    (text,) = printed(sheet(wants=standard_wants()[:-1]))
    assert "empty" in text
    assert "dotted: empty seat" in text


def test_two_draw_reeds_in_a_hole_are_both_listed():
    (text,) = printed(one(line(3, "upper", "draw", 67), line(3, "lower", "draw", 71)))
    assert re.search(r"3 upper draw .* out up G4 .* lower draw .* out down B4", text)


@pytest.mark.parametrize("holes", [1, 16])
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_combs_of_one_and_of_sixteen_chambers_print_in_full(holes, paper):
    seats = [(n, deck) for n in range(1, holes + 1) for deck in ("upper", "lower")]
    lines = [line(n, d, "blow" if d == "upper" else "draw", 45 + 2 * n) for n, d in seats]
    text = " ".join(printed(one(*lines, holes=holes), paper=paper))
    assert len(re.findall(r"(?:upper blow|lower draw) A-1", text)) == 2 * holes


def test_the_kit_is_listed_by_what_it_is_for():
    (text,) = printed(one(line(), kit=(KitLine("5 draw=F#5", line(5, "lower", "draw", 78)),)))
    assert re.search(r"Kit: plates that go along .*5 draw=F#5 A-1 lot 7 front F#5 739.99", text)


def test_an_order_of_loose_plates_has_no_drawing_and_no_cover_steps():
    kit = (KitLine("5 draw", line(5, "lower", "draw", 77, retune=9, way="file")),)
    (text,) = printed(one(kit=kit))
    assert "5 draw A-1" in text
    assert "upper deck" not in text
    assert "cover" not in text.lower()
    assert "Retune the one plate" in text


def test_an_order_that_waits_for_plates_says_until_when():
    waits = replace(sheet(), arrives=date(2026, 6, 1))
    assert "Waits for plates that arrive 2026-06-01." in printed(waits)[0]


@pytest.mark.parametrize(
    "name", ["W-017", "7", "2026/03 #5 ..", "Ünal & Øst", "注文-12", "x" * 300, "a\nb"]
)
def test_the_qr_code_holds_exactly_the_order(name):
    first, *_ = pictures(build_sheet_pdf(replace(sheet(), order=name), workshop=Workshop()))
    assert [text for text, _ in codes(first)] == [name]


def test_an_order_too_long_for_a_code_is_refused():
    with pytest.raises(BadSheet, match="4000 characters, too many for a QR code"):
        build_sheet_pdf(replace(sheet(), order="x" * 4000), workshop=Workshop())


def test_an_order_without_a_number_or_copies_is_refused():
    with pytest.raises(BadSheet, match="this one is empty"):
        build_sheet_pdf(replace(sheet(), order=""), workshop=Workshop())
    with pytest.raises(BadSheet, match="nothing to build"):
        build_sheet_pdf(replace(sheet(), copies=()), workshop=Workshop())


def test_names_are_text_and_never_markup():
    odd = '#pagebreak() *b* $x$ <svg> & "q" \\ @a'
    order = replace(sheet(), order=odd)
    order = replace(order, copies=(replace(order.copies[0], wish=odd),))
    pages = printed(order)
    assert len(pages) == 1
    assert pages[0].count('#pagebreak() *b* $x$ <svg> & "q" \\ @a') >= 2


def test_the_same_order_gives_the_same_bytes():
    one_, other = (build_sheet_pdf(sheet(copies=2), workshop=Workshop()) for _ in range(2))
    assert one_ == other


def test_only_the_packaged_typeface_is_used_and_it_is_embedded():
    reader = pypdf.PdfReader(io.BytesIO(build_sheet_pdf(sheet(), workshop=Workshop())))
    fonts = [font.get_object() for p in reader.pages for font in p["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        assert "SourceSansPro" in font["/BaseFont"]


def test_a_long_bin_name_stays_in_its_column():
    long = replace(line(), placed=replace(line().placed, bin="BIN" * 30, batch="LOT" * 30))
    (text,) = printed(one(long, line(2)))
    joined = text.replace(" ", "")
    assert "BIN" * 30 in joined
    assert "LOT" * 30 in joined


def test_a_retuned_plate_of_a_plan_reaches_the_sheet():
    want = standard_wants()[0]
    order = served("W-1", wants=(want,))
    made = replace(order.made[0], seats=(placed(want, retune=-12.34, way="file"),))
    order = replace(order, made=(made,))
    (found,) = sheets_of(plan_of(order), stock_of(order), COMB).orders
    assert "\u221212.3 lower: file root" in printed(found)[0]
