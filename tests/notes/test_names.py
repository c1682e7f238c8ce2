"""Note names both ways, against [music21] and in round trips."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21.interval import Interval, notesToChromatic
from music21.pitch import Accidental, Pitch

from combwright.notes.names import (
    BadNote,
    CentsTooFar,
    Note,
    NoteOutOfRange,
    note_name,
    note_text,
    parse_midi,
    parse_note,
)
from combwright.notes.pitch import millicents

MIDI = st.integers(0, 127)
CENTS = st.floats(-1200, 1200)
SIGNS = {"": 0, "#": 1, "##": 2, "b": -1, "bb": -2}
SPELLINGS = [letter + sign for letter in "CDEFGAB" for sign in SIGNS]
INTERVALS = [
    f"{sign}{quality}{number}"
    for sign in ("", "-")
    for number, qualities in {
        1: ("P", "A"),
        2: ("m", "M", "A"),
        3: ("d", "m", "M", "A"),
        4: ("d", "P", "A"),
        5: ("d", "P", "A"),
        6: ("m", "M", "A"),
        7: ("d", "m", "M"),
        8: ("d", "P", "A"),
        10: ("m", "M"),
    }.items()
    for quality in qualities
    if f"{sign}{quality}{number}" != "-P1"  # music21 knows no falling unison
]


def reference_pitch(spelling, octave):
    # Part by part, since music21 reads "C-1" as C flat of octave 1.
    pitch = Pitch(spelling[0])
    pitch.accidental = Accidental(SIGNS[spelling[1:]])
    pitch.octave = octave
    return pitch


def our_text(pitch):
    return f"{pitch.step}{pitch.accidental.modifier.replace('-', 'b')}{pitch.octave}"


@pytest.mark.parametrize(
    ("text", "midi"),
    [
        ("C4", 60),
        ("a4", 69),
        ("F#5", 78),
        ("Gb5", 78),
        ("F♯5", 78),
        ("G♭5", 78),
        ("B#4", 72),
        ("Cb5", 71),
        ("F##4", 67),
        ("F𝄪4", 67),
        ("Bbb4", 69),
        ("B𝄫4", 69),
        ("bb4", 70),
        (" C4 ", 60),
        ("C-1", 0),
        ("G9", 127),
        ("B#-2", 0),
    ],
)
def test_a_note_is_read_in_every_spelling_the_contract_names(text, midi):
    assert parse_note(text) == Note(midi, 0.0)


@pytest.mark.parametrize(
    ("text", "cents"),
    [
        ("A4+13.5", 13.5),
        ("A4-13.5", -13.5),
        ("A4−13.5", -13.5),
        ("A4-13,5", -13.5),
        ("A4 + 2", 2.0),
        ("A4+0", 0.0),
        ("A4+1200", 1200.0),
    ],
)
def test_a_suffix_gives_the_cents_beside_the_note(text, cents):
    assert parse_note(text) == Note(69, cents)


def test_a_minus_right_after_the_letter_is_the_octaves_and_a_second_one_the_cents():
    assert parse_note("A-1-5") == Note(9, -5.0)


@pytest.mark.parametrize("octave", range(-1, 10))
def test_every_spelling_sounds_as_music21_says(octave):
    for spelling in SPELLINGS:
        sounding = int(reference_pitch(spelling, octave).ps)
        if 0 <= sounding <= 127:
            assert parse_midi(f"{spelling}{octave}") == sounding
        else:
            with pytest.raises(NoteOutOfRange, match="outside the range C-1 to G9"):
                parse_midi(f"{spelling}{octave}")


def test_the_names_we_write_are_read_by_music21_as_the_same_note():
    for midi, flats in itertools.product(range(12, 128), (False, True)):
        name = note_name(midi, flats=flats)
        assert int(Pitch(name.replace("b", "-")).ps) == midi


def test_intervals_between_all_spellings_have_music21s_size():
    for low, high in itertools.product(SPELLINGS, SPELLINGS):
        # The chromatic size: music21 names no interval more than four semitones from perfect.
        published = notesToChromatic(reference_pitch(low, 4), reference_pitch(high, 5))
        ours = parse_midi(f"{high}5") - parse_midi(f"{low}4")
        assert (ours, 100.0 * ours) == (published.semitones, published.cents)


@pytest.mark.parametrize("interval", INTERVALS)
def test_transposing_a_spelled_note_moves_it_as_music21_does(interval):
    step = Interval(interval)
    checked = 0
    for spelling in SPELLINGS:
        moved = reference_pitch(spelling, 4).transpose(step)
        if moved.accidental is None or abs(moved.accidental.alter) <= 2:
            moved.accidental = moved.accidental or Accidental(0)
            assert parse_midi(our_text(moved)) == parse_midi(f"{spelling}4") + step.semitones
            checked += 1
    assert checked >= 21


@given(MIDI, CENTS)
def test_a_written_note_is_read_back_to_the_thousandth_of_a_cent(midi, cents):
    note = parse_note(note_text(midi, cents))
    assert note.midi == midi
    assert note.cents == pytest.approx(cents, abs=0.0005000001)
    assert millicents(note.midi, note.cents) == millicents(midi, cents)


@given(st.sampled_from(SPELLINGS), st.integers(0, 7), st.integers(-12, 12))
def test_moving_a_note_by_octaves_moves_only_the_number_in_its_name(spelling, octave, semitones):
    low, high = parse_midi(f"{spelling}{octave}") + 12, parse_midi(f"{spelling}{octave + 1}")
    assert note_name(low + semitones) == note_name(high + semitones)


@given(MIDI, st.booleans())
def test_sharps_and_flats_name_the_same_note(midi, flats):
    assert parse_midi(note_name(midi, flats=flats)) == midi


@pytest.mark.parametrize(
    ("midi", "cents", "text"),
    [
        (78, 0.0, "F#5"),
        (78, 13.5, "F#5+13.5"),
        (78, -14.0, "F#5-14"),
        (78, 100.0, "F#5+100"),
        (60, 3.9100017, "C4+3.91"),
        (60, 1e-7, "C4"),
        (60, -0.0, "C4"),
    ],
)
def test_notes_are_written_with_sharps_and_no_idle_digits(midi, cents, text):
    assert note_text(midi, cents) == text


@pytest.mark.parametrize(
    ("english", "german"),
    [("B4", "H4"), ("Bb4", "B4"), ("F#4", "Fis4"), ("Eb4", "Es4"), ("Ab4", "As4"), ("C4", "C4")],
)
def test_german_names_are_those_of_the_contract(english, german):
    assert note_name(parse_midi(english), german=True) == german
    assert note_name(parse_midi(english), german=True, flats=True) == (
        "Ges4" if german == "Fis4" else german
    )


def test_no_two_notes_of_an_octave_share_a_german_name():
    for flats in (False, True):
        assert len({note_name(m, german=True, flats=flats) for m in range(60, 72)}) == 12


@pytest.mark.parametrize(
    "text", ["", "H4", "Fis4", "C", "4", "C#b4", "C###4", "C4+", "C4+x", "C4.5", "Q4", "C4 E4"]
)
def test_what_is_no_note_is_refused_with_an_example_of_one(text):
    with pytest.raises(BadNote, match=r"is no note: write a letter from A to G.*F#5, Bb4"):
        parse_note(text)


def test_a_suffix_beyond_an_octave_is_refused():
    with pytest.raises(CentsTooFar, match="more than 1200 cents beside its note"):
        parse_note("A4-1200.5")
    with pytest.raises(CentsTooFar, match="nearest note"):
        parse_note("A4+" + "9" * 400)


def test_a_name_that_may_carry_no_cents_is_refused_with_them():
    with pytest.raises(BadNote, match="A4\\+5"):
        parse_midi("A4+5")
