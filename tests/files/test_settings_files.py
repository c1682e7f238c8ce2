from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combwright.allocation.workshop import LabelSheet, Retune, Weight, Workshop
from combwright.comb.catalogue import catalogue_layout, layout_ids
from combwright.comb.combs import Chamber, Comb, DeckRule
from combwright.comb.default_comb import default_comb
from combwright.comb.layouts import Layout
from combwright.comb.seats import BREATHS, DECKS, Seat
from combwright.errors import CombwrightError
from combwright.files.combs import comb_toml, read_comb
from combwright.files.layouts import find_layout, layout_toml, read_layout
from combwright.files.temperaments import find_temperament, read_temperament
from combwright.files.workshop import read_workshop
from files.written import line_of, lines_of, write

TITLES = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=20)
MEASURES = st.floats(0.5, 29).map(lambda mm: round(mm, 2))

# ------------------------------------------------------------------------------- workshop.toml


def test_an_empty_workshop_has_the_usual_numbers(tmp_path):
    read = read_workshop(write(tmp_path, "workshop.toml", ""))
    assert (read.value, read.warnings) == (Workshop(), ())


def test_a_workshop_reads_every_number(tmp_path):
    text = """
[retune]
raise_most_cents = 120
lower_most_cents = 60.5
free_cents = 2
fixed = 0.70
each_cent = 0.025
[weight]
lower_most_cents = 200
fixed = 1
each_cent = 0.01
[labels]
rows = 10
columns = 2
top_mm = 5
left_mm = 6.5
gap_x_mm = 1
gap_y_mm = 0.5
[paper]
size = "Letter"
[money]
currency = "USD"
"""
    assert read_workshop(write(tmp_path, "workshop.toml", text)).value == Workshop(
        Retune(120.0, 60.5, 2.0, Decimal("0.70"), Decimal("0.025")),
        Weight(200.0, Decimal(1), Decimal("0.01")),
        LabelSheet(10, 2, 5.0, 6.5, 1.0, 0.5),
        "letter",
        "USD",
    )


def test_a_byte_order_mark_and_windows_line_ends_do_not_matter(tmp_path):
    path = write(tmp_path, "workshop.toml", "\ufeff[retune]\r\nfree_cents = 1\r\n")
    assert read_workshop(path).value.retune.free_cents == 1


def test_unknown_keys_and_a_free_band_wider_than_a_limit_are_warnings(tmp_path):
    text = "shop = 1\n[retune]\nfree_cents = 90\ncents = 2\n[extra]\na = 1\n"
    assert read_workshop(write(tmp_path, "workshop.toml", text)).warnings == (
        "workshop.toml: not known and left out: shop, extra, retune.cents.",
        "workshop.toml: retune.free_cents, 90, is wider than retune.lower_most_cents, 80; "
        "no reed is moved by more than 80 cents that way.",
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[retune]\nfree_cents = -1", "retune.free_cents: -1 is out of range; 0 to 1200 is right"),
        ("[retune]\nfree_cents = nan", "retune.free_cents: NaN is out of range"),
        ("[retune]\nfree_cents = inf", "retune.free_cents: Infinity is out of range"),
        ("[retune]\nfree_cents = 1e999", "retune.free_cents: 1E+999 is out of range"),
        ("[retune]\nfree_cents = 'x'", "retune.free_cents: 'x' is not what is wanted here; give a"),
        ("[retune]\nfree_cents = true", "retune.free_cents: true is not what is wanted here"),
        ("[retune]\nfixed = -0.1", "retune.fixed: -0.1 is out of range"),
        ("[retune]\nfixed = nan", "retune.fixed: NaN is out of range"),
        ("retune = 3", "retune: 3 is not what is wanted here; give a section"),
        (
            "[labels]\nrows = 2.5",
            "labels.rows: 2.5 is not what is wanted here; give a whole number",
        ),
        ("[labels]\nrows = 0", "labels.rows: 0 is out of range; 1 to 50"),
        ("[paper]\nsize = 'A5'", "paper.size: 'A5' is not known here; write A4 or letter"),
        ("[money]\ncurrency = ''", "money.currency: is empty"),
        (
            "[money]\ncurrency = '''E\nR'''",
            "money.currency: 'E\\nR' must be one line of at most 12",
        ),
        ("free_cents =", "workshop.toml is no sound TOML: "),
        ("a = " + "[" * 5000, "nested too deeply"),
        ("a = " + "1" * 5000, "is no sound TOML: "),
        ("a = 1e99999999999999999999", "is no sound TOML: "),
    ],
)
def test_a_wrong_workshop_gives_one_clear_line(tmp_path, text, said):
    assert said in line_of(read_workshop, write(tmp_path, "workshop.toml", text))


def test_every_wrong_number_of_a_workshop_is_told_at_once(tmp_path):
    text = "[retune]\nfree_cents = -1\nfixed = 'x'\n[labels]\nrows = 0\n"
    assert len(lines_of(read_workshop, write(tmp_path, "workshop.toml", text))) == 3


def test_a_settings_file_larger_than_a_mebibyte_is_refused(tmp_path):
    path = write(tmp_path, "workshop.toml", "#" * 2_000_000)
    assert "the most for such a file is 1 MiB" in line_of(read_workshop, path)


# ----------------------------------------------------------------------------------- comb.toml


def test_the_default_comb_survives_being_written_and_read(tmp_path):
    comb = default_comb()
    lengths = [chamber.length_mm for chamber in comb.chambers]
    assert (comb.holes, lengths) == (10, sorted(lengths, reverse=True))
    assert read_comb(write(tmp_path, "comb.toml", comb_toml(comb))).value == comb


@given(
    st.builds(
        Comb,
        title=TITLES,
        chambers=st.lists(
            st.builds(Chamber, MEASURES.map(lambda mm: mm + 5), MEASURES, MEASURES),
            min_size=1,
            max_size=16,
        ).map(tuple),
        end_margin_mm=st.floats(0, 5),
        upper=st.builds(DeckRule, st.sampled_from(["any", "front", "rear"]), st.floats(0, 20)),
        parts=st.dictionaries(TITLES, st.integers(0, 1000), max_size=4),
    )
)
def test_any_comb_survives_being_written_and_read(tmp_path_factory, comb):
    path = write(tmp_path_factory.mktemp("comb"), "comb.toml", comb_toml(comb))
    assert read_comb(path).value == comb


def test_a_comb_without_a_title_is_called_as_its_file(tmp_path):
    text = "[[chamber]]\nlength_mm = 15\nwidth_mm = 4\ndepth_mm = 5\n"
    comb = read_comb(write(tmp_path, "short.toml", text)).value
    assert comb == Comb("short", (Chamber(15.0, 4.0, 5.0),))


CHAMBER = "[[chamber]]\nlength_mm = 15\nwidth_mm = 4\ndepth_mm = 5\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("title = 'x'", "chamber: there are 0 of them; write 1 to 16 sections [[chamber]]"),
        (CHAMBER * 17, "chamber: there are 17 of them"),
        (CHAMBER.replace("width_mm = 4\n", ""), "chamber 1.width_mm: is missing; give a number"),
        (
            CHAMBER.replace("15", "0"),
            "chamber 1.length_mm: 0 is out of range; above 0 and up to 80",
        ),
        (CHAMBER.replace("15", "150"), "chamber 1.length_mm: 150 is out of range"),
        ("end_margin_mm = 9.5\n" + CHAMBER.replace("15", "9"), "chamber 1.length_mm: 9 leaves no"),
        ("[upper]\nmount = 'left'\n" + CHAMBER, "upper.mount: 'left' is not known here; write any"),
        ("[parts]\nscrew = -1\n" + CHAMBER, "parts.screw: -1 is out of range"),
        ("[parts]\nscrew = 1.5\n" + CHAMBER, "parts.screw: 1.5 is not what is wanted here"),
        ("[parts]\n'' = 1\n" + CHAMBER, "is no name"),
        ("chamber = 3", "chamber: 3 is not what is wanted here; give a list"),
        ("chamber = [3]\n", "chamber: 3 is no item of this list; a section is"),
    ],
)
def test_a_wrong_comb_gives_a_clear_line(tmp_path, text, said):
    assert said in lines_of(read_comb, write(tmp_path, "comb.toml", text))[0]


# --------------------------------------------------------------------------------- layout.toml


@pytest.mark.parametrize("name", layout_ids())
def test_every_layout_of_the_catalogue_survives_being_written_and_read(tmp_path, name):
    layout = catalogue_layout(name)
    path = write(tmp_path, "mine.toml", layout_toml(layout))
    assert read_layout(path).value == layout
    assert find_layout("mine.toml", tmp_path) == layout
    assert find_layout(name, tmp_path) == layout


@st.composite
def layouts(draw):
    holes = draw(st.integers(1, 16))
    places = draw(
        st.sets(st.tuples(st.integers(1, holes), st.sampled_from(DECKS)), max_size=2 * holes)
    )
    cents = st.just(0.0) | st.floats(-200, 200)
    seats = [
        Seat(hole, deck, draw(st.sampled_from(BREATHS)), draw(st.integers(0, 127)), draw(cents))
        for hole, deck in sorted(places)
    ]
    return Layout(draw(TITLES), tuple(seats), holes=holes, about=draw(st.just("") | TITLES))


@given(layouts())
def test_any_layout_survives_being_written_and_read(tmp_path_factory, layout):
    path = write(tmp_path_factory.mktemp("layout"), "mine.toml", layout_toml(layout))
    assert read_layout(path).value == layout


def test_seats_override_add_empty_and_tune_what_the_lists_say(tmp_path):
    text = """
about = '''Two
lines'''
blow = ["C4", "E4", "", "C5+2"]
draw = ["D4", "G4", "B4", ""]
[[seat]]
hole = 1
deck = "upper"
breath = "draw"
pitch = "F4"
[[seat]]
hole = 2
breath = "blow"
pitch = ""
[[seat]]
hole = 3
breath = "draw"
cents = -4.5
[[seat]]
hole = 4
breath = "draw"
pitch = "A4"
cents = 3
"""
    layout = read_layout(write(tmp_path, "mine.toml", text)).value
    assert layout == Layout(
        "mine",
        (
            Seat(1, "upper", "draw", 65),
            Seat(1, "lower", "draw", 62),
            Seat(2, "lower", "draw", 67),
            Seat(3, "lower", "draw", 71, -4.5),
            Seat(4, "upper", "blow", 72, 2.0),
            Seat(4, "lower", "draw", 69, 3.0),
        ),
        holes=4,
        about="Two lines",
    )


def test_a_layout_of_seats_alone_has_ten_holes(tmp_path):
    text = "[[seat]]\nhole = 10\nbreath = 'blow'\npitch = 'C7'\n"
    layout = read_layout(write(tmp_path, "mine.toml", text)).value
    assert layout == Layout("mine", (Seat(10, "upper", "blow", 96),))


SEAT = "[[seat]]\nhole = 1\nbreath = 'blow'\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("blow = ['H4']\ndraw = ['C4']", "blow: 'H4' is no note"),
        ("blow = [4]\ndraw = ['C4']", "blow: 4 is no item of this list; a text is"),
        ("blow = 'C4 E4'", "blow: 'C4 E4' is not what is wanted here; give a list"),
        ("blow = ['C4']\ndraw = ['C4', 'D4']", "draw: there are 2 draw notes and 1 blow notes"),
        ("blow = []", "blow: there are 0 notes; a layout has 1 to 16"),
        (f"blow = {['C4'] * 17}", "blow: there are 17 notes"),
        ("blow = ['C4']\n" + SEAT + "cents = 900", "seat 1.cents: 900 is out of range"),
        ("blow = ['']\n" + SEAT, "seat 1.pitch: is missing; there is no blow note in seat 1 upper"),
        ("blow = ['C4']\n" + SEAT.replace("1", "2"), "seat 1.hole: 2 is out of range; 1 to 1"),
        ("blow = ['C4']\n" + SEAT + SEAT, "seat 2.hole: seat 1 upper is given twice"),
        (
            "blow = ['C4']\n" + SEAT + "pitch = 'C4+2'\ncents = 2",
            "seat 1.cents: the pitch C4+2 has",
        ),
        (
            "blow = ['C4']\n[[seat]]\nhole = 1\nbreath = 'suck'",
            "seat 1.breath: 'suck' is not known",
        ),
        ("blow = ['C4']\n[[seat]]\nhole = 1", "seat 1.breath: is missing; give a text"),
        (
            "blow = ['C4']\n[[seat]]\nbreath = 'blow'",
            "seat 1.hole: is missing; give a whole number",
        ),
    ],
)
def test_a_wrong_layout_gives_a_clear_line(tmp_path, text, said):
    assert said in lines_of(read_layout, write(tmp_path, "mine.toml", text))[0]


def test_unknown_keys_of_a_layout_are_named(tmp_path):
    text = "colour = 1\nblow = ['C4']\n" + SEAT + "look = 2\n"
    assert read_layout(write(tmp_path, "mine.toml", text)).warnings == (
        "mine.toml: not known and left out: colour, seat 1.look.",
    )


# ---------------------------------------------------------------------------- temperament.toml


def test_a_temperament_of_twelve_numbers_starts_at_the_tonic(tmp_path):
    text = "cents = [0, 1.5, -2, 0, 0, 0, 0, 0, 0, 0, 0, -12]\n"
    found = read_temperament(write(tmp_path, "mine.toml", text)).value
    assert found.name == "mine"
    assert [found.offset(midi, 9) for midi in (69, 70, 71, 68)] == [0, 1.5, -2, -12]


def test_a_temperament_of_single_reeds_leaves_the_others_equal(tmp_path):
    text = "title = 'Own'\n[[seat]]\nhole = 5\nbreath = 'draw'\ncents = -3.5\n"
    write(tmp_path, "own.toml", text)
    found = find_temperament("own.toml", tmp_path)
    assert (found.name, dict(found.reeds)) == ("Own", {(5, "draw"): -3.5})
    assert found.offset(77, 0, 5, "draw") == -3.5
    assert found.offset(77, 0, 5, "blow") == 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "cents: is missing; give twelve numbers, or [[seat]]"),
        ("cents = [0, 1]", "cents: there are 2 numbers; give twelve"),
        (
            f"cents = {[100 * n for n in range(12)]}",
            "cents: 300 is out of range; -200 to 200 beside",
        ),
        (f"cents = [{', '.join(['nan'] * 12)}]", "cents: NaN is out of range"),
        (
            f"cents = [{', '.join(['true'] * 12)}]",
            "cents: true is no item of this list; a number is",
        ),
        ("[[seat]]\nhole = 17\nbreath = 'draw'\ncents = 1", "seat 1.hole: 17 is out of range"),
        ("[[seat]]\nhole = 1\nbreath = 'draw'", "seat 1.cents: is missing; give a number"),
        ("[[seat]]\nhole = 1\nbreath = 'draw'\ncents = 1\n" * 2, "1 draw is given twice"),
    ],
)
def test_a_wrong_temperament_gives_a_clear_line(tmp_path, text, said):
    assert said in lines_of(read_temperament, write(tmp_path, "mine.toml", text))[0]


def test_a_named_temperament_needs_no_file(tmp_path):
    assert find_temperament(" 7-Limit ", tmp_path).name == "7-limit"
    with pytest.raises(CombwrightError, match="'8-limit' is no temperament"):
        find_temperament("8-limit", tmp_path)
