"""Notes under key signatures, against the table of signatures that every primer has."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combwright.notes.names import LETTER_SEMITONES
from combwright.sheets.spelling import (
    SIGNATURES,
    likely_signature,
    moved_signature,
    of_signature,
    spelled,
)

#: Major keys by their signatures, and the letters that carry one (common practice).
MAJORS = {-6: "Gb", -5: "Db", -4: "Ab", -3: "Eb", -2: "Bb", -1: "F", 0: "C", 1: "G", 2: "D", 3: "A",
          4: "E", 5: "B", 6: "F#"}  # fmt: skip
SCALE = (0, 2, 4, 5, 7, 9, 11)
SIGNS = {1: "#", 2: "##", -1: "b", -2: "bb", 0: ""}


def tonic(fifths):
    return 60 + 7 * fifths % 12


@pytest.mark.parametrize("fifths", SIGNATURES)
def test_the_scale_of_a_signature_needs_no_accidental(fifths):
    notes = [spelled(tonic(fifths) + up, fifths) for up in SCALE]
    assert sorted(note.letter for note in notes) == sorted("ABCDEFG")
    assert all(note.alter == of_signature(note.letter, fifths) for note in notes)
    assert notes[0].letter + SIGNS[notes[0].alter] == MAJORS[fifths]


def test_sharps_and_flats_come_in_their_order():
    assert [letter for letter in "FCGDAEB" if of_signature(letter, 3)] == ["F", "C", "G"]
    assert [letter for letter in "BEADGCF" if of_signature(letter, -3)] == ["B", "E", "A"]


@given(st.integers(0, 127), st.sampled_from(SIGNATURES))
def test_a_spelled_note_sounds_as_it_should(midi, fifths):
    note = spelled(midi, fifths)
    assert 12 * (note.octave + 1) + LETTER_SEMITONES[note.letter] + note.alter == midi


def test_the_notes_beside_the_scale_are_those_that_tunes_use():
    names = [spelled(60 + up, 0) for up in (1, 3, 6, 8, 10)]
    assert [n.letter + SIGNS[n.alter] for n in names] == ["C#", "Eb", "F#", "G#", "Bb"]


def test_a_signature_moves_by_semitones_and_an_octave_changes_none():
    assert [moved_signature(0, by) for by in (2, 7, 5, 1, -2, 12)] == [2, 1, -1, -5, -2, 0]
    assert {moved_signature(f, by) for f in SIGNATURES for by in range(24)} <= set(SIGNATURES)


@pytest.mark.parametrize("fifths", range(-6, 6))
def test_the_likely_signature_is_the_one_without_accidentals(fifths):
    assert likely_signature([tonic(fifths) + up for up in SCALE]) == fifths
