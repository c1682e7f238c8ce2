"""Chords and octave splits; [music21] is the independent book of chord names."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import chord as theory_chord
from music21 import interval as theory_interval
from music21 import pitch as theory_pitch

from comb.known_layouts import (
    FIFTH_DRAW_RAISED,
    STANDARD,
    THIRD_BLOW_TURNED,
    layouts,
    moved,
    notes,
)
from combwright.comb.chamber import sounding_midi
from combwright.comb.chords import chord_name, chords, octave_splits
from combwright.comb.layouts import Layout, from_lists
from combwright.comb.seats import BREATHS, Seat
from combwright.notes.names import SHARP_NAMES, note_name

#: What music21 calls a set of pitch classes, and the symbols that say the same.
SYMBOLS = {
    "major triad": {""},
    "minor triad": {"m"},
    "diminished triad": {"dim"},
    "augmented triad": {"aug"},
    "quartal trichord": {"sus2", "sus4"},
    "dominant seventh chord": {"7"},
    "major seventh chord": {"maj7"},
    "minor seventh chord": {"m7", "6"},
    "minor-augmented tetrachord": {"m(maj7)"},
    "half-diminished seventh chord": {"m7b5", "m6"},
    "diminished seventh chord": {"dim7"},
    "augmented seventh chord": {"aug7"},
    "augmented major tetrachord": {"aug(maj7)"},
    "quartal tetramirror": {"7sus4"},
    "major-second major tetrachord": {"add9"},
    "major-second minor tetrachord": {"m(add9)"},
}
#: Chords as musicians stack them, in thirds from the root.
STACKS = {
    "": "M3 m3",
    "m": "m3 M3",
    "dim": "m3 m3",
    "aug": "M3 M3",
    "7": "M3 m3 m3",
    "maj7": "M3 m3 M3",
    "m7": "m3 M3 m3",
    "m(maj7)": "m3 M3 M3",
    "m7b5": "m3 m3 M3",
    "dim7": "m3 m3 m3",
}
SAME_FROM_ANY_NOTE = {"aug", "dim7"}


def symbol_of(name):
    """Cut the root and the bass off a chord symbol."""
    # The stroke of 6/9 does not occur among sets of three and four notes.
    return name.split("/")[0].lstrip("ABCDEFG").removeprefix("#")


def named(layout, breath, *holes):
    (found,) = (c for c in chords(layout) if c.breath == breath and c.holes == holes)
    return found.name


@settings(max_examples=150)
@given(
    st.integers(48, 71),
    st.sampled_from(sorted(STACKS)),
    st.integers(0, 3),
    st.lists(st.integers(0, 3), max_size=3),
)
def test_triads_and_sevenths_have_the_root_and_quality_music21_gives_them(
    root, symbol, inversion, doubled
):
    stack = [theory_pitch.Pitch(note_name(root))]  # a spelled root keeps the thirds spelled
    for third in STACKS[symbol].split():
        stack.append(stack[-1].transpose(third))
    for turn in range(inversion % len(stack)):
        stack[turn].octave += 1
    book = theory_chord.Chord(stack)
    midis = [p.midi for p in stack] + [stack[i % len(stack)].midi + 12 for i in doubled]
    name = chord_name(midis)
    bass = SHARP_NAMES[book.bass().pitchClass]
    book_root = SHARP_NAMES[book.root().pitchClass]
    wanted = bass if symbol in SAME_FROM_ANY_NOTE else book_root
    # A half-diminished seventh over its third is a minor sixth, and a minor seventh over its third
    # a sixth: the bass is then the root, as the docstring says.
    third_in_bass = book.inversion() == 1
    if third_in_bass and symbol in {"m7", "m7b5"}:
        assert name == bass + {"m7": "6", "m7b5": "m6"}[symbol]
    elif wanted == bass:
        assert name == bass + symbol
    else:
        assert name == f"{wanted}{symbol}/{bass}"
    assert symbol_of(name) in SYMBOLS[book.commonName.removeprefix("enharmonic equivalent to ")]


@settings(max_examples=150)
@given(st.sets(st.integers(0, 11), min_size=3, max_size=4), st.integers(40, 60))
def test_a_set_bears_a_symbol_exactly_when_music21_knows_its_kind(classes, low):
    midis = [low + step for step in classes]
    kind = theory_chord.Chord(midis).commonName.removeprefix("enharmonic equivalent to ")
    name = chord_name(midis)
    if kind in SYMBOLS:
        assert symbol_of(name) in SYMBOLS[kind]
    elif "7(no5)" not in name:
        assert name.split() == [
            SHARP_NAMES[midi % 12] for midi in sorted(midis, key=lambda m: (m - min(midis)) % 12)
        ]


def test_two_notes_are_called_what_music21_calls_their_interval():
    for step in range(1, 12):
        book = theory_interval.Interval(step).niceName.lower().removeprefix("perfect ")
        ours = {"diminished fifth": "tritone"}.get(book, book)
        assert chord_name([60, 60 + step]) == f"C {ours}"
        assert chord_name([60, 72 + step]) == f"C {ours}"


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("E4 G4 C5", "C/E"),
        ("C4 E4 G4 A4", "C6"),
        ("A4 C5 E5 G5", "Am7"),
        ("E4 G4 A4 C5", "Am7/E"),
        ("C4 D4 G4", "Csus2"),
        ("G4 C5 D5", "Gsus4"),
        ("D4 G4 C5", "Gsus4/D"),
        ("G4 F5 B5", "G7(no5)"),
        ("G4 B4 D5 F5 A5", "G9"),
        ("A5 B5 D6", "A B D"),
        ("C4 C4", "C unison"),
        ("C4 C5 C6", "C octave"),
    ],
)
def test_a_name_says_root_quality_and_bass(typed, name):
    assert chord_name(notes(typed)) == name
    assert chord_name(list(reversed(notes(typed)))) == name


def test_flats_are_written_on_request():
    assert chord_name(notes("Bb4 D5 F5")) == "A#"
    assert chord_name(notes("Bb4 D5 F5"), flats=True) == "Bb"


# Common practice, no source: what the standard layout in C is known to play.
def test_the_standard_layout_blows_its_key_and_draws_the_dominant():
    assert {named(STANDARD, "blow", h, h + 1, h + 2)[0] for h in range(1, 9)} == {"C"}
    assert named(STANDARD, "blow", 2, 3, 4) == "C/E"
    assert named(STANDARD, "draw", 1, 2, 3, 4) == "G/D"
    assert named(STANDARD, "draw", 2, 3, 4) == "G"
    assert named(STANDARD, "draw", 2, 3, 4, 5) == "G7"
    assert named(STANDARD, "draw", 4, 5, 6) == "Dm"
    assert named(STANDARD, "draw", 3, 4, 5) == "Bdim"


def test_raising_5_draw_makes_the_dominant_seventh_a_major_seventh():
    # [richter-article] calls a layout of this kind "major seventh".
    assert named(FIFTH_DRAW_RAISED, "draw", 2, 3, 4, 5) == "Gmaj7"
    assert named(FIFTH_DRAW_RAISED, "draw", 4, 5, 6) == "D"


def test_every_hole_of_the_standard_layout_begins_as_many_chords_as_fit():
    # Ten holes: 9 pairs, 8 triples and 7 fours on each breath.
    found = chords(STANDARD)
    assert len(found) == 2 * (9 + 8 + 7)
    assert {len(c.holes) for c in found} == {2, 3, 4}


def test_a_hole_with_two_reeds_of_one_breath_sounds_them_all():
    (found,) = (c for c in chords(THIRD_BLOW_TURNED) if (c.breath, c.holes) == ("draw", (3, 4)))
    assert found.midis == tuple(notes("G4 B4 D5"))
    assert found.name == "G"


def test_a_silent_hole_makes_no_chord():
    blown = {c.holes for c in chords(THIRD_BLOW_TURNED) if c.breath == "blow"}
    assert blown
    assert all(3 not in holes for holes in blown)


def test_the_standard_layout_splits_octaves_over_four_holes_blown_and_five_drawn():
    # Common practice, no source: 1 and 4 draw is the only drawn split over four holes.
    splits = [(c.breath, c.holes) for c in octave_splits(STANDARD)]
    blown = [("blow", (h, h + 3)) for h in range(1, 8)]
    assert splits == [*blown, ("draw", (1, 4)), *(("draw", (h, h + 4)) for h in range(3, 7))]
    assert {c.name.split()[1] for c in octave_splits(STANDARD)} == {"octave"}


def test_a_hole_with_a_second_reed_splits_only_when_both_are_doubled():
    # 3 draw sounds G4 and B4; 7 draw only B5.
    assert (3, 7) in {c.holes for c in octave_splits(STANDARD)}
    assert (3, 7) not in {c.holes for c in octave_splits(THIRD_BLOW_TURNED)}
    both = Layout(
        "both doubled",
        (
            Seat(1, "upper", "draw", 67),
            Seat(1, "lower", "draw", 71),
            Seat(3, "upper", "draw", 79),
            Seat(3, "lower", "draw", 83),
        ),
        holes=3,
    )
    assert [c.midis for c in octave_splits(both)] == [(67, 71, 79, 83)]


def test_an_octave_that_falls_towards_the_treble_is_a_split_too():
    falling = from_lists("falling", [72, 64, 60], [None, None, None])
    assert [(c.holes, c.midis) for c in octave_splits(falling)] == [((1, 3), (60, 72))]


@given(layouts())
def test_a_chord_sounds_exactly_the_reeds_of_its_holes_and_breath(layout):
    for chord in (*chords(layout), *octave_splits(layout)):
        wanted = sorted(
            sounding_midi(seat)
            for hole in chord.holes
            for seat in layout.in_hole(hole)
            if seat.breath == chord.breath
        )
        assert list(chord.midis) == wanted


@given(layouts())
def test_octave_splits_are_all_the_pairs_an_octave_apart(layout):
    def notes_of(hole, breath):
        return [sounding_midi(s) for s in layout.in_hole(hole) if s.breath == breath]

    wanted = set()
    for breath in BREATHS:
        for one, other in combinations(range(1, layout.holes + 1), 2):
            here, there = sorted(notes_of(one, breath)), sorted(notes_of(other, breath))
            apart = {high - low for low, high in zip(here, there, strict=False)}
            if other - one in (2, 3, 4) and len(here) == len(there) and apart in ({12}, {-12}):
                wanted.add((breath, (one, other)))
    assert {(c.breath, c.holes) for c in octave_splits(layout)} == wanted


@given(layouts(), st.integers(-24, 24))
def test_transposing_a_layout_transposes_its_chords(layout, semitones):
    here, there = chords(layout), chords(moved(layout, semitones))
    assert [(c.breath, c.holes) for c in here] == [(c.breath, c.holes) for c in there]
    for one, other in zip(here, there, strict=True):
        assert other.midis == tuple(midi + semitones for midi in one.midis)
        if " " not in one.name:
            assert symbol_of(one.name) == symbol_of(other.name)
