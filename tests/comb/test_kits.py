"""The spare plates that go along with an instrument."""

import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.changes import KitLine, apply_changes, kit_seats, parse_changes, parse_kit
from combwright.comb.seat_lines import BadChange
from combwright.comb.seats import Seat
from combwright.notes.names import parse_midi

STANDARD = catalogue_layout("standard")
F5, FS5 = parse_midi("F5"), parse_midi("F#5")


def changed(text):
    return apply_changes(STANDARD, parse_changes(text))


def kit(text, layout=STANDARD):
    return kit_seats(layout, parse_kit(text))


def test_a_kit_is_read_line_by_line_and_a_plate_may_stand_in_it_twice():
    draw = KitLine("5 draw", 5, None, "draw", None, 0.0)
    assert parse_kit("5 draw; 5 draw; 5 Draw = F#5+2") == (
        draw,
        draw,
        KitLine("5 draw", 5, None, "draw", FS5, 2.0),
    )
    assert parse_kit("") == ()


def test_a_plate_named_by_its_seat_alone_is_that_seats_final_pitch_and_cents():
    layout = changed("5 draw=F#5+13.5")
    assert kit("5 draw", layout) == (("5 draw", Seat(5, "lower", "draw", FS5, 13.5)),)
    assert kit("5 lower", layout) == (("5 lower", Seat(5, "lower", "draw", FS5, 13.5)),)


def test_a_plate_with_a_pitch_takes_deck_and_breath_from_its_seat():
    layout = changed("5 draw=none; 5 upper=E5 draw")
    assert kit("5 draw=F#5", layout) == (("5 draw", Seat(5, "upper", "draw", FS5)),)
    assert kit("5 upper=F#5", layout) == (("5 upper", Seat(5, "upper", "draw", FS5)),)
    assert kit("5 upper=F#5 blow", layout) == (("5 upper", Seat(5, "upper", "blow", FS5)),)


def test_a_plate_for_an_empty_seat_goes_to_its_breaths_usual_deck():
    layout = changed("5 draw=none")
    assert kit("5 draw=F5", layout) == (("5 draw", Seat(5, "lower", "draw", F5)),)
    assert kit("5 lower=F5 draw", layout) == (("5 lower", Seat(5, "lower", "draw", F5)),)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("5 draw", r"'5 draw': that seat is empty; give the plate's pitch, as in 5 draw=F#5"),
        ("5 lower=F5", r"'5 lower': that seat is empty; give the breath too, as in 5 lower=F#5 d"),
        ("12 draw", r"no hole 12: holes run from 1 to 10"),
    ],
)
def test_a_plate_that_its_seat_does_not_tell_is_refused(text, reason):
    with pytest.raises(BadChange, match=reason):
        kit(text, changed("5 draw=none"))


def test_two_reeds_of_one_breath_must_be_told_apart_in_a_kit_too():
    layout = changed("3 upper=G4 draw")
    with pytest.raises(BadChange, match="hole 3 has two draw reeds; name the deck: 3 upper or 3"):
        kit("3 draw", layout)
    assert kit("3 upper", layout)[0][1].midi == parse_midi("G4")


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("5 draw=none", r"a kit holds plates; name a pitch, or leave the line out"),
        ("5 draw=F#5 blow", r"5 draw cannot speak on blow"),
        ("five draw", r"'five draw' names no seat"),
        ("5 draw=F#", r"'F#' is no note"),
    ],
)
def test_a_line_that_is_no_plate_is_refused(text, reason):
    with pytest.raises(BadChange, match=reason):
        parse_kit(text)
