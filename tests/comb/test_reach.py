"""Every note of a layout and its scales by position; [music21] is the independent theory book."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import chord as theory_chord
from music21 import pitch as theory_pitch
from music21 import scale as theory

from comb.known_layouts import (
    BOTH_RAISED,
    FIFTH_DRAW_RAISED,
    KNOWN,
    STANDARD,
    THIRD_BLOW_RAISED,
    THIRD_BLOW_TURNED,
    THIRD_DRAW_LOWERED,
    changed,
    layouts,
    moved,
    notes,
)
from combwright.comb.chamber import sounding_midi
from combwright.comb.layouts import Layout, from_lists
from combwright.comb.reach import (
    HOWS,
    SCALES,
    NoSuchScale,
    Sound,
    octave_of,
    positions,
    scale_steps,
    sounds,
)
from combwright.comb.seats import Seat
from combwright.notes.names import parse_midi
from published import rows

THEORY_SCALES = {
    "major": theory.MajorScale,
    "natural minor": theory.MinorScale,
    "dorian": theory.DorianScale,
    "phrygian": theory.PhrygianScale,
    "lydian": theory.LydianScale,
    "mixolydian": theory.MixolydianScale,
    "locrian": theory.LocrianScale,
    "harmonic minor": theory.HarmonicMinorScale,
    "melodic minor ascending": theory.MelodicMinorScale,
    "whole tone": theory.WholeToneScale,
    "diminished": theory.OctatonicScale,
    "chromatic": theory.ChromaticScale,
}
OTHERWISE_CHECKED = {"major pentatonic", "minor pentatonic", "blues"}
C4_TO_C7 = range(60, 97)


def how_of(layout, tonic, scale):
    """The ways of a scale from a named tonic, as a string of their first letters."""
    steps = octave_of(sounds(layout), parse_midi(tonic), scale=scale)
    return "".join(step.how[0] for step in steps)


def missing(layout, hows):
    """What lies from C4 to C7 and cannot be played by any of these means."""
    can = {midi for midi, ways in sounds(layout).items() if any(w.how in hows for w in ways)}
    return set(C4_TO_C7) - can


# Completeness: counted apart from this project from [oeis-a291810] and the bend rule.
def test_the_standard_layout_misses_six_notes_without_overbends_and_none_with_them():
    wanted = set(notes("Eb4 Eb5 F#5 Bb5 C#6 Ab6"))
    assert missing(STANDARD, {"natural", "bend"}) == wanted
    assert missing(STANDARD, {"natural", "bend", "overbend"}) == set()


def test_the_standard_layout_has_nineteen_different_natural_notes():
    # [oeis-a291810] says so in words too: 2 draw and 3 blow are one note.
    natural = {m for m, ways in sounds(STANDARD).items() if ways[0].how == "natural"}
    assert len(natural) == 19
    assert [(w.hole, w.breath) for w in sounds(STANDARD)[67]] == [(2, "draw"), (3, "blow")]


@pytest.mark.parametrize("row", rows("changed_layouts.csv"), ids=lambda row: row["layout"])
def test_a_changed_layout_misses_the_notes_that_were_counted(row):
    assert missing(KNOWN[row["layout"]], {"natural", "bend"}) == set(notes(row["missing"]))


def test_fifth_draw_and_third_blow_raised_give_g_major_from_2_draw_to_6_blow():
    # Counted apart from this project from [oeis-a291810] and the bend rule.
    wanted = notes("G4 A4 B4 C5 D5 E5 F#5 G5")
    steps = octave_of(sounds(BOTH_RAISED), wanted[0])
    assert [step.midi for step in steps] == wanted
    assert {step.how for step in steps} == {"natural"}
    assert (steps[0].where.hole, steps[0].where.breath) == (2, "draw")
    assert (steps[-1].where.hole, steps[-1].where.breath) == (6, "blow")


# The four facts that follow: common practice, no source.
def test_raising_5_draw_gives_second_position_its_major_scale_without_an_overbend():
    assert how_of(STANDARD, "G4", "major") == "nbnnnnon"
    assert how_of(FIFTH_DRAW_RAISED, "G4", "major") == "nbnnnnnn"
    second = positions(FIFTH_DRAW_RAISED, 0)[1]
    assert (second.position, second.tonic, second.steps[0].midi) == (2, 7, parse_midi("G4"))


def test_raising_5_draw_gives_third_position_a_major_third_while_c_stays_natural():
    assert how_of(STANDARD, "D5", "mixolydian") == "nnonnnnn"
    assert how_of(FIFTH_DRAW_RAISED, "D5", "mixolydian") == "n" * 8
    assert sounds(FIFTH_DRAW_RAISED)[parse_midi("C6")][0].how == "natural"


def test_lowering_3_draw_puts_the_minor_third_of_second_position_under_the_breath():
    assert how_of(STANDARD, "G4", "dorian") == "nbbnnnnn"
    assert how_of(THIRD_DRAW_LOWERED, "G4", "dorian") == "nbnnnnnn"


def test_raising_3_blow_puts_the_whole_tone_bend_of_3_draw_under_the_breath():
    best = sounds(STANDARD)[parse_midi("A4")][0]
    assert best == Sound(parse_midi("A4"), "bend", 3, "draw", 2)
    best = sounds(THIRD_BLOW_RAISED)[parse_midi("A4")][0]
    assert best == Sound(parse_midi("A4"), "natural", 3, "blow", 0)


def test_a_note_that_brings_another_along_comes_after_the_same_note_alone():
    g4, b4 = parse_midi("G4"), parse_midi("B4")
    ways = sounds(THIRD_BLOW_TURNED)
    assert [(way.hole, way.along) for way in ways[g4]] == [(2, None), (3, b4)]
    assert [(way.hole, way.along) for way in ways[b4]] == [(3, g4)]
    pair_below = Layout(
        "pair below",
        (
            Seat(1, "upper", "draw", g4),
            Seat(1, "lower", "draw", b4),
            Seat(2, "lower", "draw", g4),
        ),
    )
    assert [(way.hole, way.along) for way in sounds(pair_below)[g4]] == [(2, None), (1, b4)]


def test_an_overblow_is_played_on_the_breath_of_the_lower_reed():
    (over,) = sounds(STANDARD)[parse_midi("F#5")]
    assert (over.how, over.hole, over.breath, over.semitones) == ("overbend", 5, "blow", 1)


@pytest.mark.parametrize("name", sorted(set(SCALES) - OTHERWISE_CHECKED))
def test_a_scale_holds_the_notes_music21_gives_it(name):
    for tonic in range(60, 72):
        root = theory_pitch.Pitch(midi=tonic)
        published = THEORY_SCALES[name](root).getPitches(
            root, root.transpose("P8"), direction=theory.Direction.ASCENDING
        )
        ours = [tonic + up for up in (*SCALES[name], 12)]
        assert [p.midi for p in published] == ours


def test_the_pentatonics_are_the_one_pentatonic_of_the_books_from_its_two_tonics():
    major = [60 + up for up in SCALES["major pentatonic"]]
    assert theory_chord.Chord(major).commonName == "major pentatonic"
    relative = [57 + up for up in SCALES["minor pentatonic"]]
    assert {midi % 12 for midi in relative} == {midi % 12 for midi in major}
    minor = {p.midi % 12 for p in theory.MinorScale("A3").getPitches("A3", "A4")}
    assert {midi % 12 for midi in relative} < minor


def test_the_blues_scale_is_all_that_music21_may_put_into_one():
    # music21 draws which of the optional notes to take, so many draws are put together.
    drawn = [theory.WeightedHexatonicBlues("C4").getPitches("C4", "C5") for _ in range(80)]
    assert {pitch.midi for scale in drawn for pitch in scale} == {
        60 + up for up in (*SCALES["blues"], 12)
    }


def test_positions_go_up_by_fifths_from_the_key():
    root = theory_pitch.Pitch("B-3")
    fifths = []
    for _ in range(12):
        fifths.append(root.pitchClass)
        root = root.transpose("P5")
    found = positions(moved(STANDARD, -2), 10)
    assert [p.tonic for p in found] == fifths
    assert [p.position for p in found] == list(range(1, 13))


def test_first_position_is_taken_in_the_octave_that_is_all_natural():
    first = positions(STANDARD, 0)[0]
    assert [step.midi for step in first.steps] == notes("C5 D5 E5 F5 G5 A5 B5 C6")
    assert {step.how for step in first.steps} == {"natural"}


def test_of_octaves_equally_natural_the_one_with_fewer_missing_notes_is_taken():
    # Both octaves of C D E G A lack A; only a chamber of G and B can bend to it.
    full_below = from_lists(
        "A4 can be bent to", notes("C4 E4 G4 C5 E5 G5 C6"), notes("D4 F4 B4 D5 F5 F5 B5")
    )
    full_above = from_lists(
        "A5 can be bent to", notes("C4 E4 G4 C5 E5 G5 C6"), notes("D4 F4 F4 D5 F5 B5 B5")
    )
    for layout, below, above, start in (
        (full_below, "nnnnbn", "nnnnmn", "C4"),
        (full_above, "nnnnmn", "nnnnbn", "C5"),
    ):
        assert how_of(layout, "C4", "major pentatonic") == below
        assert how_of(layout, "C5", "major pentatonic") == above
        first = positions(layout, 0, scale="major pentatonic")[0]
        assert first.steps[0].midi == parse_midi(start)


def test_of_octaves_equally_good_the_lowest_is_taken():
    twice = from_lists(
        "repeating octave, twice",
        notes("C4 E4 G4 C5 C5 E5 G5 C6"),
        notes("D4 F4 A4 B4 D5 F5 A5 B5"),
    )
    assert how_of(twice, "C4", "major") == how_of(twice, "C5", "major") == "n" * 8
    assert positions(twice, 0)[0].steps[0].midi == 60


def test_an_octave_that_runs_past_the_highest_reed_is_not_taken():
    # From C5 seven notes are natural, but C6 is beyond the instrument; from C4 six are.
    layout = from_lists("up to B5", notes("C4 E4 G4 C5 E5 G5 B5"), notes("D4 F4 G4 D5 F5 A5 B5"))
    assert how_of(layout, "C4", "major") == "nnnnnmmn"
    assert how_of(layout, "C5", "major") == "nnnnnnnm"
    assert positions(layout, 0)[0].steps[0].midi == parse_midi("C4")


def test_an_instrument_without_a_full_octave_shows_the_rest_as_missing():
    small = from_lists("one hole", [60], [62])
    first = positions(small, 0)[0]
    assert [step.midi for step in first.steps] == [60 + up for up in (0, 2, 4, 5, 7, 9, 11, 12)]
    assert [step.how for step in first.steps] == ["natural", "natural"] + ["missing"] * 6
    assert first.steps[2].where is None


def test_an_empty_layout_misses_every_step():
    hows = {step.how for p in positions(Layout("empty", ()), 0) for step in p.steps}
    assert hows == {"missing"}


@pytest.mark.parametrize("typed", ["Natural-Minor", "minor", "aeolian", " natural_minor "])
def test_a_scale_is_found_however_its_name_is_typed(typed):
    assert scale_steps(typed) == SCALES["natural minor"]


def test_an_unknown_scale_is_refused_with_the_list_of_those_there_are():
    with pytest.raises(NoSuchScale, match="'majro' is no scale: use major, natural minor, dorian"):
        positions(STANDARD, 0, scale="majro")
    with pytest.raises(NoSuchScale) as refused:
        scale_steps("")
    assert all(name in str(refused.value) for name in SCALES)
    assert "\n" not in str(refused.value)


@given(layouts())
def test_every_reed_is_among_the_sounds_and_the_easiest_way_comes_first(layout):
    found = sounds(layout)
    assert list(found) == sorted(found)
    for seat in layout.seats:
        ways = found[sounding_midi(seat)]
        assert ways[0].how == "natural"
        assert any((way.hole, way.breath) == (seat.hole, seat.breath) for way in ways)
    for midi, ways in found.items():
        ranks = [HOWS.index(way.how) for way in ways]
        assert ranks == sorted(ranks)
        assert {way.midi for way in ways} == {midi}


@settings(max_examples=40)
@given(layouts(), st.integers(-24, 24), st.integers(0, 11), st.sampled_from(sorted(SCALES)))
def test_transposing_a_layout_transposes_its_positions(layout, semitones, key, scale):
    if not layout.seats:
        return  # nothing to move; its empty octave stays about middle C
    here = positions(layout, key, scale=scale)
    there = positions(moved(layout, semitones), (key + semitones) % 12, scale=scale)
    for one, other in zip(here, there, strict=True):
        assert other.tonic == (one.tonic + semitones) % 12
        assert [(s.midi, s.how) for s in other.steps] == [
            (s.midi + semitones, s.how) for s in one.steps
        ]


@settings(max_examples=40)
@given(layouts(), st.integers(0, 11), st.sampled_from(sorted(SCALES)))
def test_no_full_octave_beats_the_one_taken(layout, key, scale):
    ways = sounds(layout)
    reeds = [sounding_midi(seat) for seat in layout.seats]
    for position in positions(layout, key, scale=scale):
        taken = [step.how for step in position.steps]
        start = position.steps[0].midi
        for tonic in range(min(reeds, default=0), max(reeds, default=0) - 11):
            if tonic % 12 != position.tonic or tonic == start:
                continue
            other = [step.how for step in octave_of(ways, tonic, scale=scale)]
            natural = taken.count("natural") - other.count("natural")
            lacking = other.count("missing") - taken.count("missing")
            assert (natural, lacking, tonic - start) > (0, 0, 0)


def test_a_plate_written_in_cents_counts_as_the_note_it_sounds():
    by_cents = changed("by cents", Seat(5, "lower", "draw", 77, 100.0))
    assert sounds(by_cents) == sounds(FIFTH_DRAW_RAISED)
