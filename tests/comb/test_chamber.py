"""Bends and overbends of one chamber, against the derived table and for odd chambers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from comb.known_layouts import (
    KNOWN,
    STANDARD,
    THIRD_BLOW_TURNED,
    changed,
    layouts,
    moved,
    notes,
)
from combwright.comb.chamber import beat_hz, bends, overbend, remark, sounding_midi
from combwright.comb.layouts import Layout, from_lists
from combwright.comb.seats import NoSuchHole, Seat
from combwright.notes.names import parse_midi
from combwright.notes.pitch import hertz
from published import rows

# OEIS A291810, order 1 blow, 1 draw, 2 blow, ...: semitones above the root.
A291810 = (0, 2, 4, 7, 7, 11, 12, 14, 16, 17, 19, 21, 24, 23, 28, 26, 31, 29, 36, 33)
TABLE = rows("standard_bends.csv")


def chamber(*seats):
    return Layout("one chamber", tuple(seats), holes=1)


def pair(blow, draw):
    return from_lists("one chamber", [parse_midi(blow)], [parse_midi(draw)])


def test_the_typed_table_holds_the_published_layout():
    typed = [parse_midi(row[breath]) for row in TABLE for breath in ("blow", "draw")]
    assert [midi - 60 for midi in typed] == list(A291810)
    assert [seat.midi for seat in STANDARD.seats] == typed


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"hole {row['hole']}")
def test_a_hole_bends_and_overbends_as_the_table_says(row):
    hole = int(row["hole"])
    found = bends(STANDARD, hole)
    assert [bend.midi for bend in found] == notes(row["bends"])
    assert [bend.semitones for bend in found] == list(range(1, len(found) + 1))
    assert all((bend.hole, bend.breath) == (hole, row["bend_breath"]) for bend in found)
    over = overbend(STANDARD, hole)
    assert (over.hole, over.kind, over.midi) == (
        hole,
        row["overbend_kind"],
        parse_midi(row["overbend"]),
    )


@pytest.mark.parametrize("row", rows("changed_layouts.csv"), ids=lambda row: row["layout"])
def test_a_changed_layout_has_the_bends_that_were_counted(row):
    layout = KNOWN[row["layout"]]
    every = [bend for hole in range(1, 11) for bend in bends(layout, hole)]
    counted = {breath: sum(b.breath == breath for b in every) for breath in ("draw", "blow")}
    assert counted == {"draw": int(row["draw_bends"]), "blow": int(row["blow_bends"])}


def test_an_overblow_is_blown_and_an_overdraw_drawn():
    assert overbend(STANDARD, 1).breath == "blow"
    assert overbend(STANDARD, 10).breath == "draw"


def test_a_plate_turned_to_the_other_breath_sounds_with_its_neighbour_and_bends_no_more():
    assert bends(THIRD_BLOW_TURNED, 3) == ()
    assert overbend(THIRD_BLOW_TURNED, 3) is None
    said = remark(THIRD_BLOW_TURNED, 3)
    assert "G4 and B4 together on draw" in said
    assert "no bends, no overbend" in said
    assert "15.56 Hz" in said  # 15.556 Hz in equal temperament, see below


def test_swapping_the_decks_of_a_chamber_changes_nothing_that_sounds():
    # The facing alone makes blow or draw (common practice, no source).
    usual = pair("G4", "B4")
    swapped = chamber(Seat(1, "lower", "blow", 67), Seat(1, "upper", "draw", 71))
    assert bends(swapped, 1) == bends(usual, 1)
    assert overbend(swapped, 1) == overbend(usual, 1)


# Beats of near p:q intervals, computed apart from this project; [helmholtz] for the rule.
@pytest.mark.parametrize(
    ("low", "high", "published"),
    [("C4", "G4", 0.885824), ("C4", "E4", 10.382401), ("G4", "B4", 15.556)],
)
def test_an_equal_tempered_interval_beats_at_the_known_rate(low, high, published):
    digits = len(str(published).split(".")[1])
    reeds = (Seat(1, "upper", "draw", parse_midi(low)), Seat(1, "lower", "draw", parse_midi(high)))
    assert beat_hz(*reeds) == pytest.approx(published, abs=0.5 * 10**-digits)
    assert beat_hz(*reversed(reeds)) == beat_hz(*reeds)


def test_a_unison_one_cent_off_at_440_hz_beats_once_in_four_seconds():
    reeds = (Seat(1, "upper", "draw", 69), Seat(1, "lower", "draw", 69, 1.0))
    assert beat_hz(*reeds) == pytest.approx(0.254227, abs=5e-7)  # computed apart from this project
    assert "A4 and A4 together on draw" in remark(chamber(*reeds), 1)
    assert "0.25 Hz" in remark(chamber(*reeds), 1)


def test_a_semitone_of_one_breath_beats_by_the_difference_of_its_reeds():
    reeds = (Seat(1, "upper", "blow", 60), Seat(1, "lower", "blow", 61))
    apart = float(hertz(61) - hertz(60))
    assert f"beat at {apart:.2f} Hz" in remark(chamber(*reeds), 1)


def test_a_tone_of_one_breath_is_too_rough_to_beat():
    reeds = (Seat(1, "upper", "blow", 60), Seat(1, "lower", "blow", 62))
    assert beat_hz(*reeds) is None
    assert "beat" not in remark(chamber(*reeds), 1)


def test_a_lone_plate_promises_no_bend_and_says_why():
    alone = chamber(Seat(1, "lower", "draw", 71))
    assert bends(alone, 1) == ()
    assert overbend(alone, 1) is None
    assert "only B4 on draw" in remark(alone, 1)
    assert "bends little" in remark(alone, 1)


def test_an_empty_chamber_gives_nothing():
    empty = Layout("empty", (), holes=1)
    assert bends(empty, 1) == ()
    assert overbend(empty, 1) is None
    assert "empty" in remark(empty, 1)


def test_reeds_of_equal_pitch_promise_nothing():
    level = pair("C5", "C5")
    assert bends(level, 1) == ()
    assert overbend(level, 1) is None
    assert "C5 on both breaths" in remark(level, 1)


def test_reeds_a_semitone_apart_overbend_but_do_not_bend_a_semitone():
    close = pair("E5", "F5")
    assert bends(close, 1) == ()
    assert overbend(close, 1).midi == parse_midi("F#5")
    assert "draw bends, but by less than a semitone" in remark(close, 1)


def test_a_chamber_wider_than_the_standard_ones_is_marked_unproven():
    assert "unproven" in remark(pair("C4", "F4"), 1)
    assert remark(pair("C4", "E4"), 1) == ""


def test_ordinary_chambers_need_no_remark():
    said = {hole: remark(STANDARD, hole) for hole in range(1, 11)}
    assert [hole for hole, text in said.items() if text] == [5, 7]  # the two semitone holes


def test_a_note_written_in_cents_is_the_note_it_sounds():
    by_cents = changed("fifth draw raised by cents", Seat(5, "lower", "draw", 77, 100.0))
    assert bends(by_cents, 5) == bends(KNOWN["fifth draw raised"], 5)
    assert overbend(by_cents, 5) == overbend(KNOWN["fifth draw raised"], 5)


@pytest.mark.parametrize("ask", [bends, overbend, remark])
def test_a_hole_beyond_the_comb_is_refused(ask):
    with pytest.raises(NoSuchHole, match="no hole 11: holes run from 1 to 10"):
        ask(STANDARD, 11)


@given(layouts())
def test_every_bend_lies_between_its_reeds_and_every_overbend_above_both(layout):
    for hole in range(1, layout.holes + 1):
        reeds = [seat.midi + seat.cents / 100 for seat in layout.in_hole(hole)]
        for bend in bends(layout, hole):
            assert min(reeds) < bend.midi < max(reeds)
        over = overbend(layout, hole)
        assert over is None or over.midi > max(reeds)


@given(layouts())
def test_only_the_higher_reed_bends_and_the_other_breath_overbends(layout):
    for hole in range(1, layout.holes + 1):
        over = overbend(layout, hole)
        highest = max(layout.in_hole(hole), key=sounding_midi, default=None)
        assert {bend.breath for bend in bends(layout, hole)} <= {highest and highest.breath}
        assert over is None or over.breath != highest.breath


@given(layouts(), st.integers(-24, 24))
def test_transposing_a_layout_transposes_its_bends(layout, semitones):
    up = moved(layout, semitones)
    for hole in range(1, layout.holes + 1):
        assert [(b.breath, b.midi) for b in bends(up, hole)] == [
            (b.breath, b.midi + semitones) for b in bends(layout, hole)
        ]
        here, there = overbend(layout, hole), overbend(up, hole)
        assert (here is None) == (there is None)
        assert here is None or (there.kind, there.midi) == (here.kind, here.midi + semitones)
