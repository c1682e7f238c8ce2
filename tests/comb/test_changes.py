"""Changes to a layout, as people write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.changes import Change, apply_changes, parse_changes
from combwright.comb.layouts import Layout, from_lists
from combwright.comb.seat_lines import BadChange
from combwright.comb.seats import Seat
from combwright.notes.keys import parse_key
from combwright.notes.names import note_text, parse_midi

STANDARD = catalogue_layout("standard")
F5, FS5, A4, BB4 = (parse_midi(name) for name in ("F5", "F#5", "A4", "Bb4"))


def changed(text, layout=STANDARD):
    return apply_changes(layout, parse_changes(text))


def differing(layout, other=STANDARD):
    return set(layout.seats) ^ set(other.seats)


@pytest.mark.parametrize(
    ("text", "hole", "deck", "breath", "midi", "cents"),
    [
        ("5 draw=F#5", 5, None, "draw", FS5, 0.0),
        ("3 lower=Bb4 draw", 3, "lower", "draw", BB4, 0.0),
        ("3 draw=none", 3, None, "draw", None, 0.0),
        ("3 upper=none", 3, "upper", None, None, 0.0),
        ("5 draw=F#5+13.5", 5, None, "draw", FS5, 13.5),
        ("5 DRAW = f#5 -2 ", 5, None, "draw", FS5, -2.0),
        ("5draw=Gb5", 5, None, "draw", FS5, 0.0),
        ("5 draw=F#5 draw", 5, None, "draw", FS5, 0.0),
        ("3 upper=A4+5 Draw", 3, "upper", "draw", A4, 5.0),
    ],
)
def test_a_change_is_read_as_the_contract_writes_it(text, hole, deck, breath, midi, cents):
    assert parse_changes(text) == (Change(hole, deck, breath, midi, cents, text.strip()),)


def test_changes_are_parted_by_semicolons_and_empty_ones_pass():
    read = parse_changes(" 5 draw=F#5; 3 blow=A4 ;; ")
    assert [change.text for change in read] == ["5 draw=F#5", "3 blow=A4"]
    assert parse_changes("  ") == ()


def test_no_change_leaves_the_layout_as_it_is():
    assert apply_changes(STANDARD, ()) == STANDARD


def test_a_changed_reed_keeps_its_seat_and_takes_the_new_pitch():
    assert differing(changed("5 draw=F#5")) == {
        Seat(5, "lower", "draw", F5),
        Seat(5, "lower", "draw", FS5),
    }


def test_the_suffix_becomes_the_seats_own_cents_and_is_gone_without_one():
    once = changed("5 draw=F#5+13.5")
    assert once.at(5, "lower") == Seat(5, "lower", "draw", FS5, 13.5)
    assert changed("5 draw=F#5", once).at(5, "lower").cents == 0.0


def test_a_seat_named_by_deck_may_turn_its_plate_over():
    # Design: a chamber may hold two draw reeds, which sound together.
    turned = changed("3 upper=G4 draw")
    assert [seat.breath for seat in turned.in_hole(3)] == ["draw", "draw"]
    assert turned.at(3, "upper").facing == "out"


def test_an_emptied_seat_holds_nothing_and_the_rest_stays():
    assert differing(changed("3 draw=none")) == {Seat(3, "lower", "draw", parse_midi("B4"))}
    assert changed("3 upper=none").at(3, "upper") is None


def test_pitches_are_sounding_ones():
    in_a = STANDARD.in_key(parse_key("A"))
    assert changed("5 draw=D#5", in_a) == changed("5 draw=F#5").in_key(parse_key("A"))


def test_a_new_reed_takes_its_breaths_usual_deck():
    empty = from_lists("empty", [None], [None])
    assert changed("1 draw=D4", empty).seats == (Seat(1, "lower", "draw", 62),)
    assert changed("1 blow=C4", empty).seats == (Seat(1, "upper", "blow", 60),)


def test_a_new_reed_takes_the_other_deck_when_its_usual_one_is_taken():
    two_blow = Layout("lower blow", (Seat(1, "lower", "blow", 60),), holes=1)
    assert changed("1 draw=D4", two_blow).at(1, "upper") == Seat(1, "upper", "draw", 62)


def test_the_seat_of_a_breath_is_found_on_whichever_deck_it_is():
    swapped = Layout(
        "swapped", (Seat(1, "lower", "blow", 60), Seat(1, "upper", "draw", 62)), holes=1
    )
    assert changed("1 blow=C#4", swapped).at(1, "lower") == Seat(1, "lower", "blow", 61)


def test_changes_are_made_in_order():
    # Only once 3 upper is empty has 3 draw a free seat to go to.
    lower_blow = changed("3 lower=B4 blow")
    refused = "3 draw=A4; 3 upper=none"
    with pytest.raises(BadChange, match="'3 draw=A4': hole 3 has no draw reed and both its seats"):
        changed(refused, lower_blow)
    emptied = changed("3 upper=none", lower_blow)
    assert changed("3 draw=A4", emptied).at(3, "upper") == Seat(3, "upper", "draw", A4)


@pytest.mark.parametrize(
    "text",
    [
        "5 draw=F#5; 5 draw=G5",
        "5 draw=F#5; 5 lower=G5 draw",
        "5 draw=F#5; 5 lower=none",
        "5 draw=none; 5 draw=F#5",
        "5 lower=F#5 draw; 5 draw=F#5",
    ],
)
def test_the_same_seat_is_not_changed_twice(text):
    with pytest.raises(BadChange, match=r"seat 5 lower is changed twice; change it once\.$"):
        changed(text)


def test_two_reeds_of_one_breath_must_be_told_apart_by_the_deck():
    with pytest.raises(BadChange, match="'3 draw=A4': hole 3 has two draw reeds; name the deck"):
        changed("3 upper=G4 draw; 3 draw=A4")


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("3 lower=Bb4", r"needs the breath too, as in 3 lower=Bb4 draw"),
        ("3 lower=none draw", r"an emptied seat has no breath; write 3 lower=none"),
        ("5 draw=F#5 blow", r"5 draw cannot speak on blow; to turn a plate over name its deck"),
        ("5 draw", r"says what the seat becomes, as in 5 draw=F#5 or 5 draw=none"),
        ("5 draw=", r"'' is no note"),
        ("5 draw=Fis5", r"'Fis5' is no note: write a letter"),
        ("5 draw=C12", r"outside the range C-1 to G9"),
        ("5 draw=F#5, 3 blow=A4", r"more than one '='; part two lines with a semicolon"),
        ("draw 5=F#5", r"'draw 5' names no seat: .*as in 5 draw or 5 lower"),
        ("5 middle=F#5", r"'5 middle' names no seat"),
    ],
)
def test_what_cannot_be_read_is_refused_with_what_would_be_right(text, reason):
    with pytest.raises(BadChange, match=reason) as refused:
        parse_changes(text)
    assert str(refused.value).startswith(repr(text))


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("11 draw=F#5", r"There is no hole 11: holes run from 1 to 10\.$"),
        ("0 upper=none", r"There is no hole 0"),
    ],
)
def test_a_hole_beyond_the_layout_is_refused(text, reason):
    with pytest.raises(BadChange, match=reason):
        changed(text)


@pytest.mark.parametrize(
    ("text", "what"), [("3 draw=none", "draw reed"), ("3 lower=none", "lower plate")]
)
def test_an_empty_seat_cannot_be_emptied(text, what):
    with pytest.raises(BadChange, match=f"hole 3 has no {what} to take out"):
        changed(text, changed("3 draw=none"))


SEATS = st.tuples(st.integers(1, 10), st.sampled_from(["blow", "draw"]))


@given(st.dictionaries(SEATS, st.integers(40, 100), max_size=6), st.randoms())
def test_changes_of_different_seats_may_be_written_in_any_order(wanted, random):
    lines = [f"{hole} {breath}={note_text(midi)}" for (hole, breath), midi in wanted.items()]
    first = changed("; ".join(lines))
    random.shuffle(lines)
    assert changed("; ".join(lines)) == first
    for (hole, breath), midi in wanted.items():
        assert next(s.midi for s in first.in_hole(hole) if s.breath == breath) == midi


@given(SEATS, st.integers(40, 100), st.integers(-17, 18))
def test_changing_commutes_with_transposing(seat, midi, shift):
    key = parse_key("C")
    moved_key = type(key)("somewhere", shift)
    before = changed(f"{seat[0]} {seat[1]}={note_text(midi)}").in_key(moved_key)
    after = changed(f"{seat[0]} {seat[1]}={note_text(midi + shift)}", STANDARD.in_key(moved_key))
    assert before == after
