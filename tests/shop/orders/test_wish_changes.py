"""What is done on the drawn comb, and the changes text it becomes."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.changes import apply_changes, kit_seats, parse_changes, parse_kit
from combwright.comb.layouts import Layout
from combwright.comb.seats import BREATHS, DECKS, MOST_HOLES, Seat
from combwright.notes.keys import parse_key
from combwright.notes.names import note_name, parse_midi, parse_note
from combwright.shop.orders import wish_changes as edits

STANDARD = catalogue_layout("standard")


def done(text, layout=STANDARD):
    return apply_changes(layout, parse_changes(text))


@st.composite
def layouts(draw, holes=None):
    """Any seats filled or not, on either breath: two draws in a hole, empty holes, cents."""
    holes = holes or draw(st.integers(1, MOST_HOLES))
    seats = []
    for hole in range(1, holes + 1):
        for deck in DECKS:
            breath = draw(st.sampled_from([None, *BREATHS]))
            if breath:
                thousandths = draw(st.one_of(st.just(0), st.integers(-1_200_000, 1_200_000)))
                midi = draw(st.integers(0, 127))
                seats.append(Seat(hole, deck, breath, midi, thousandths / 1000))
    return Layout("any", tuple(seats), holes=holes)


@st.composite
def pairs(draw):
    one = draw(layouts())
    return one, draw(layouts(holes=one.holes))


@settings(deadline=None)
@given(pairs())
def test_the_text_makes_of_any_base_any_wanted_layout(pair):
    base, wanted = pair
    assert done(edits.changes_between(base, wanted), base).seats == wanted.seats


@settings(deadline=None)
@given(layouts())
def test_a_layout_that_is_as_wanted_needs_no_text(layout):
    assert edits.changes_between(layout, layout) == ""


@settings(deadline=None)
@given(pairs())
def test_each_changed_seat_is_named_once_and_no_other(pair):
    base, wanted = pair
    text = edits.changes_between(base, wanted)
    changed = {(s.hole, s.deck) for s in set(base.seats) ^ set(wanted.seats)}
    assert len(parse_changes(text)) == len(changed)


@settings(deadline=None)
@given(layouts(holes=3), st.integers(1, 3), st.sampled_from(DECKS))
def test_turning_over_twice_and_moving_there_and_back_change_nothing(layout, hole, deck):
    place, other = (hole, deck), (1, "upper")
    if layout.at(*place) is None:
        with pytest.raises(edits.CannotEdit):
            edits.turned_over(layout, place)
        return
    once = edits.turned_over(layout, place)
    assert once.at(*place).breath != layout.at(*place).breath
    assert edits.turned_over(once, place) == layout
    there = edits.moved(layout, place, other)
    assert edits.moved(there, other, place) == layout
    assert edits.raised(edits.raised(layout, place, 0), place, 0) == layout


@pytest.mark.parametrize(
    ("edit", "text"),
    [
        (lambda x: edits.raised(x, (5, "lower"), 1), "5 draw=F#5"),
        (lambda x: edits.tuned(x, (3, "upper"), parse_note("A4")), "3 blow=A4"),
        (lambda x: edits.tuned(x, (5, "lower"), parse_note("F#5-2.5")), "5 draw=F#5-2.5"),
        (lambda x: edits.emptied(x, (10, "lower")), "10 draw=none"),
        (lambda x: edits.turned_over(x, (1, "upper")), "1 upper=C4 draw"),
    ],
)
def test_an_edit_reads_as_people_would_write_it(edit, text):
    assert edits.changes_between(STANDARD, edit(STANDARD)) == text


def test_a_plate_moved_onto_another_changes_places_with_it():
    after = edits.moved(STANDARD, (5, "lower"), (6, "upper"))
    assert after.at(6, "upper") == Seat(6, "upper", "draw", parse_midi("F5"))
    assert after.at(5, "lower") == Seat(5, "lower", "blow", parse_midi("G5"))


def test_a_reed_in_an_empty_seat_speaks_on_the_decks_usual_breath():
    bare = edits.emptied(STANDARD, (4, "lower"))
    assert edits.tuned(bare, (4, "lower"), parse_note("A4")).at(4, "lower").breath == "draw"


@pytest.mark.parametrize(
    "edit",
    [
        lambda x: edits.raised(edits.tuned(x, (1, "upper"), parse_note("G9")), (1, "upper"), 1),
        lambda x: edits.moved(x, (1, "upper"), (11, "upper")),
        lambda x: edits.emptied(edits.emptied(x, (1, "upper")), (1, "upper")),
    ],
)
def test_what_cannot_be_done_to_a_seat_is_refused(edit):
    with pytest.raises(edits.CannotEdit):
        edit(STANDARD)


def test_a_wanted_hole_that_the_base_lacks_is_named():
    wanted = replace(STANDARD, holes=12, seats=(*STANDARD.seats, Seat(12, "upper", "blow", 84)))
    with pytest.raises(edits.CannotEdit, match="Hole 12"):
        edits.changes_between(STANDARD, wanted)


def test_two_lines_of_notes_are_a_layout_in_c_or_as_it_sounds():
    rows = [
        " ".join(note_name(s.midi) for s in STANDARD.seats if s.breath == breath)
        for breath in BREATHS
    ]
    assert edits.from_lines(*rows).seats == STANDARD.seats
    moved = edits.from_lines(*rows, semitones=parse_key("A").shift)
    assert moved.seats == STANDARD.in_key(parse_key("A")).seats
    odd = edits.from_lines("C4, -, G4+2", "D4 F4 none")
    assert [odd.at(2, "upper"), odd.at(3, "lower")] == [None, None]
    assert odd.at(3, "upper").cents == 2.0


@pytest.mark.parametrize(
    ("blow", "draw", "said"),
    [
        ("C4 E4", "D4", "2 blow notes and 1 draw notes"),
        ("C4 H4", "D4 G4", "Blow notes, hole 2"),
        ("", "", "1 to 16 holes"),
    ],
)
def test_lines_that_are_no_layout_are_refused_in_words(blow, draw, said):
    with pytest.raises(Exception, match=said):
        edits.from_lines(blow, draw)


def test_a_kit_moves_with_the_key():
    text = "5 draw; 5 draw=F#5; 3 lower=A4+2 draw"
    assert edits.moved_kit(text, 0) == text
    moved = edits.moved_kit(text, 2)
    assert moved == "5 draw; 5 draw=G#5; 3 lower=B4+2 draw"
    up = replace(STANDARD, seats=tuple(replace(s, midi=s.midi + 2) for s in STANDARD.seats))
    before = [seat for _label, seat in kit_seats(STANDARD, parse_kit(text))]
    after = [seat for _label, seat in kit_seats(up, parse_kit(moved))]
    assert [replace(s, midi=s.midi + 2) for s in before] == after
