"""Hertz, cents and pitch standards against published values."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21.pitch import Pitch

from combwright.notes.names import parse_midi
from combwright.notes.pitch import (
    BadPitchStandard,
    a4_cents,
    cents_between,
    check_a4,
    hertz,
    midi_of,
    millicents,
)
from published import rows

# MIDI 1.0, MIDI tuning standard [midi-tuning].
TUNING_STEP_CENTS = 0.006103515625


@pytest.mark.parametrize("row", rows("midi_tuning.csv"), ids=lambda row: row["midi"])
def test_note_numbers_have_the_hertz_of_the_midi_tuning_standard(row):
    found = hertz(int(row["midi"]), int(row["steps"]) * TUNING_STEP_CENTS)
    assert found == pytest.approx(float(row["hz"]), abs=0.5 * 10.0 ** -int(row["decimals"]))


def test_the_notes_of_the_standard_layout_have_their_published_hertz_as_an_array():
    table = rows("equal_hertz.csv")
    found = hertz([parse_midi(row["note"]) for row in table])
    assert found.shape == (len(table),)
    assert found == pytest.approx([float(row["hz"]) for row in table], abs=5e-7)


def test_all_notes_have_music21s_hertz():
    assert hertz(np.arange(128)) == pytest.approx(
        [Pitch(ps=midi).frequency for midi in range(128)], rel=1e-12
    )


def test_a_cent_is_the_published_ratio():
    # Definition of the cent [ellis], computed apart from this project.
    assert hertz(69, 1) / 440 == pytest.approx(1.000577789506555, abs=5e-16)


def test_a_hertz_at_a4_is_worth_the_published_cents():
    # Computed apart from this project: 1200/(ln 2 f) at 440 Hz, and the whole hertz from there.
    # With forty digits 1200 log2(441/440) is 3.93015843943...
    assert cents_between(440, 440 + 1e-5) / 1e-5 == pytest.approx(3.934622838788, rel=1e-7)
    assert cents_between(440, 441) == pytest.approx(3.930158439, abs=5e-10)


@pytest.mark.parametrize("row", rows("pitch_standards.csv"), ids=lambda row: row["a4_hz"])
def test_a_pitch_standard_lies_its_published_cents_from_440(row):
    within = 0.5 * 10.0 ** -int(row["decimals"])
    assert a4_cents(float(row["a4_hz"])) == pytest.approx(float(row["cents"]), abs=within)


@given(st.integers(0, 127), st.floats(-1200, 1200), st.floats(415, 466))
def test_pitch_goes_to_hertz_and_back(midi, cents, a4_hz):
    back = midi_of(hertz(midi, cents, a4_hz=a4_hz), a4_hz=a4_hz)
    assert back == pytest.approx(midi + cents / 100, abs=1e-9)


@given(st.integers(0, 127), st.floats(-50, 50), st.floats(415, 466))
def test_another_standard_moves_every_note_by_its_own_cents(midi, cents, a4_hz):
    there = hertz(midi, cents, a4_hz=a4_hz)
    assert there == pytest.approx(float(hertz(midi, cents + a4_cents(a4_hz))), rel=1e-12)


@given(st.integers(0, 115), st.integers(-12, 12), st.floats(-50, 50))
def test_transposing_commutes_with_tuning(midi, semitones, cents):
    first = hertz(midi + semitones, cents)
    then = hertz(midi, cents) * 2 ** (semitones / 12)
    assert first == pytest.approx(float(then), rel=1e-12)


def test_notes_and_cents_are_broadcast_together():
    table = hertz([[60], [72]], [0.0, 100.0, 1200.0])
    assert table.shape == (2, 3)
    assert table[1] == pytest.approx(2 * table[0])
    assert table[0, 2] == pytest.approx(table[1, 0])


def test_a_thousandth_of_a_cent_tells_any_two_steps_of_the_tuning_standard_apart():
    steps = {millicents(69, step * TUNING_STEP_CENTS) for step in range(2**14)}
    assert len(steps) == 2**14


@given(st.integers(0, 126), st.floats(-600, 600))
def test_a_pitch_is_the_same_by_either_name(midi, cents):
    # Matching is by absolute pitch: F5+100 is F#5.
    assert abs(millicents(midi, cents + 100) - millicents(midi + 1, cents)) <= 1
    assert millicents(midi, 100.0) == millicents(midi + 1)


@pytest.mark.parametrize("a4_hz", [415.0, 440.0, 466.0])
def test_the_limits_of_the_pitch_standard_are_inclusive(a4_hz):
    assert check_a4(a4_hz) == a4_hz


@pytest.mark.parametrize("a4_hz", [414.99, 466.01, 0.0, -440.0, math.nan, math.inf])
def test_an_a4_that_nobody_tunes_to_is_refused(a4_hz):
    with pytest.raises(BadPitchStandard, match="out of range: give 415 to 466 Hz"):
        a4_cents(a4_hz)
