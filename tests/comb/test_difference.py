"""What changes from one layout to another, reed by reed and note by note."""

from hypothesis import given
from hypothesis import strategies as st

from comb.known_layouts import (
    FIFTH_DRAW_RAISED,
    STANDARD,
    THIRD_BLOW_RAISED,
    THIRD_BLOW_TURNED,
    THIRD_DRAW_LOWERED,
    changed,
    layouts,
    moved,
    notes,
)
from combwright.comb.chamber import Bend
from combwright.comb.difference import Difference, NoteChange, ReedChange, difference
from combwright.comb.layouts import Layout, from_lists
from combwright.comb.reach import HOWS, sounds
from combwright.comb.seats import Seat
from combwright.notes.names import parse_midi

NOTHING = Difference((), (), (), (), ())


def test_raising_5_draw_adds_one_draw_bend_and_trades_f_for_f_sharp():
    # "Adds one draw bend": common practice, no source.
    f, f_sharp = notes("F5 F#5")
    found = difference(STANDARD, FIFTH_DRAW_RAISED)
    assert found.seats == (ReedChange(5, "lower", "draw", f, f_sharp, 1),)
    assert found.bends_gained == (Bend(5, "draw", 1, f),)
    assert found.bends_lost == ()
    assert found.gained == (NoteChange(f_sharp, "natural", "overbend"),)
    assert found.lost == (NoteChange(f, "natural", "bend"),)


def test_raising_3_blow_gains_a_natural_a_and_costs_two_bends():
    # The price is the bend of 3 draw to G#4 (tunes.md); A4 is natural now, and G4 stays at 2 draw.
    found = difference(STANDARD, THIRD_BLOW_RAISED)
    assert found.seats == (ReedChange(3, "upper", "blow", 67, 69, 2),)
    assert found.gained == (NoteChange(parse_midi("A4"), "natural", "bend"),)
    # Ab4 can still be overblown at 2.
    assert found.lost == (NoteChange(parse_midi("G#4"), "bend", "overbend"),)
    assert [bend.midi for bend in found.bends_lost] == notes("A4 G#4")
    assert found.bends_gained == ()


def test_lowering_3_draw_puts_b_flat_under_the_breath_and_loses_b():
    found = difference(STANDARD, THIRD_DRAW_LOWERED)
    b_flat, b = notes("Bb4 B4")
    assert NoteChange(b_flat, "natural", "bend") in found.gained
    assert NoteChange(b, "natural", "overbend") in found.lost


def test_a_plate_turned_over_takes_from_one_breath_and_gives_to_the_other():
    found = difference(STANDARD, THIRD_BLOW_TURNED)
    assert found.seats == (
        ReedChange(3, "upper", "blow", 67, None, None),
        ReedChange(3, "upper", "draw", None, 67, None),
    )
    assert [bend.hole for bend in found.bends_lost] == [3, 3, 3]


def test_an_emptied_seat_has_no_note_after():
    emptied = Layout("emptied", tuple(s for s in STANDARD.seats if s != STANDARD.at(9, "lower")))
    assert difference(STANDARD, emptied).seats == (
        ReedChange(9, "lower", "draw", parse_midi("F6"), None, None),
    )


def test_the_same_pitch_written_another_way_is_no_change():
    by_cents = changed("by cents", Seat(5, "lower", "draw", 77, 100.0))
    assert difference(by_cents, FIFTH_DRAW_RAISED) == NOTHING


def test_a_few_cents_change_the_reed_and_no_note():
    touched = changed("touched", Seat(5, "lower", "draw", 77, -12.5))
    found = difference(STANDARD, touched)
    assert found.seats == (ReedChange(5, "lower", "draw", 77, 77, 0, -12.5),)
    assert (found.gained, found.lost, found.bends_gained, found.bends_lost) == ((), (), (), ())


def test_a_reed_moved_by_semitones_and_cents_tells_both():
    moved_up = changed("moved up", Seat(5, "lower", "draw", 77, 110.0))
    (found,) = difference(STANDARD, moved_up).seats
    assert (found.to_midi, found.semitones, found.cents) == (78, 1, 10.0)


def test_layouts_of_different_size_are_compared_hole_by_hole():
    one = from_lists("one hole", [60], [62])
    two = from_lists("two holes", [60, 64], [62, 67])
    found = difference(one, two)
    assert [(c.hole, c.breath, c.to_midi) for c in found.seats] == [
        (2, "blow", 64),
        (2, "draw", 67),
    ]
    assert {bend.hole for bend in found.bends_gained} == {2}


@given(layouts())
def test_a_layout_does_not_differ_from_itself(layout):
    assert difference(layout, layout) == NOTHING


@given(layouts(), layouts())
def test_what_one_way_gains_the_other_way_loses(one, other):
    there, back = difference(one, other), difference(other, one)
    assert there.gained == back.lost
    assert there.lost == back.gained
    assert there.bends_gained == back.bends_lost
    assert there.bends_lost == back.bends_gained
    assert [(c.hole, c.deck, c.breath, c.from_midi, c.to_midi) for c in there.seats] == [
        (c.hole, c.deck, c.breath, c.to_midi, c.from_midi) for c in back.seats
    ]


@given(layouts(), layouts())
def test_every_note_is_gained_lost_or_as_easy_as_before(one, other):
    def rank(ways, midi):
        return HOWS.index(ways[midi][0].how if midi in ways else "missing")

    before, after = sounds(one), sounds(other)
    found = difference(one, other)
    changes = {c.midi: c for c in (*found.gained, *found.lost)}
    assert len(changes) == len(found.gained) + len(found.lost)
    for midi in before.keys() | after.keys():
        assert (midi in changes) == (rank(before, midi) != rank(after, midi))
    for change in found.gained:
        assert HOWS.index(change.how) == rank(after, change.midi) < rank(before, change.midi)


@given(layouts(most_cents=0), st.integers(1, 24))
def test_transposing_changes_every_reed_by_the_same_step(layout, semitones):
    found = difference(layout, moved(layout, semitones))
    assert len(found.seats) == len(layout.seats)
    assert {(c.semitones, c.cents) for c in found.seats} <= {(semitones, 0.0)}
