"""`combwright pitch`, on reeds whose frequency is known by how they were made."""

import numpy as np
import pytest
import soundfile

from cli.commands import combwright
from cli.shapes import NUMBER, check_shape
from ear.pairs import together, voices
from ear.reeds import RATE, reed

PITCH = {
    "schema": {1}, "note": str, "hz": NUMBER, "cents": NUMBER, "sd_cents": NUMBER,
    "snr_db": NUMBER, "unsure": bool,
}  # fmt: skip


@pytest.fixture
def recording(tmp_path):
    """A reed at A4 + 5 cents, half a second of room before and after it."""
    rng = np.random.default_rng(13)
    sound, _ = reed(440 * 2 ** (5 / 1200), 1.2, rng=rng, snr_db=30)
    room = rng.normal(0, 1e-3, RATE // 2)
    soundfile.write(tmp_path / "reed.wav", np.concatenate([room, sound, room]), RATE)
    return tmp_path / "reed.wav"


def test_a_reed_is_named_with_its_cents(recording):
    document = combwright("pitch", recording, "--json").document
    check_shape(document, PITCH)
    assert (document["note"], document["unsure"]) == ("A4", False)
    assert document["cents"] == pytest.approx(5, abs=0.01)
    assert 0 < document["sd_cents"] < 0.05
    assert document["snr_db"] == pytest.approx(30, abs=2)


def test_cents_are_counted_from_the_standard_and_from_the_note_expected(recording):
    at_442 = combwright("pitch", recording, "--a4", "442", "--json").document
    assert at_442["cents"] == pytest.approx(5 - 1200 * np.log2(442 / 440), abs=0.01)
    beside = combwright("pitch", recording, "--expect", "Bb4", "--json").document
    assert (beside["note"], beside["cents"]) == ("A#4", pytest.approx(-95, abs=0.01))


def test_in_words_it_is_one_line(recording):
    (line,) = combwright("pitch", recording).out.splitlines()
    assert line.startswith("A4 +5.00 cents, give or take 0.01: 441.27")


def test_what_a_recording_lacks_is_said_aside(tmp_path):
    sound, _ = reed(440, 1, rng=np.random.default_rng(14), rate=8000)
    soundfile.write(tmp_path / "poor.wav", sound, 8000)
    answer = combwright("pitch", tmp_path / "poor.wav", "--json")
    assert answer.document["cents"] == pytest.approx(0, abs=0.05)
    assert answer.err.startswith("Note: poor.wav: with 8,000 samples a second")


def test_noise_is_refused_in_one_line(tmp_path):
    noise = np.random.default_rng(15).normal(0, 0.1, RATE)
    soundfile.write(tmp_path / "noise.wav", noise, RATE)
    assert "No steady note is heard" in combwright("pitch", tmp_path / "noise.wav").error


@pytest.mark.parametrize(
    ("options", "line"),
    [
        (["--a4", "300"], "A4 at 300 Hz is out of range"),
        (["--a4", "high"], "'high' is no number"),
        (["--expect", "H4"], "'H4' is no note"),
    ],
)
def test_a_wrong_option_is_refused(recording, options, line):
    assert line in combwright("pitch", recording, *options).error


REEDS = {
    "schema": {1}, "snr_db": NUMBER, "unsure": bool, "found": int, "beat_hz": [NUMBER],
    "reeds": [{"note": str, "hz": NUMBER, "cents": NUMBER, "sd_cents": NUMBER}],
}  # fmt: skip


@pytest.fixture
def played(tmp_path):
    """Write reeds that sound at once for 0.9 s, with a little room around them."""

    def write(*hz):
        rng = np.random.default_rng(16)
        sound, _ = together(rng, list(hz), voices(rng, hz), 0.9, snr_db=30)
        room = rng.normal(0, 1e-3, RATE // 4)
        soundfile.write(tmp_path / "reeds.wav", np.concatenate([room, sound, room]), RATE)
        return tmp_path / "reeds.wav"

    return write


def test_an_octave_pair_is_told_reed_by_reed_with_its_beat(played):
    file = played(440.0, 882.0)
    document = combwright("pitch", file, "--reeds", "2", "--expect", "A4,A5", "--json").document
    check_shape(document, REEDS)
    assert [each["note"] for each in document["reeds"]] == ["A4", "A5"]
    assert document["reeds"][1]["cents"] == pytest.approx(1200 * np.log2(882 / 880), abs=0.05)
    assert document["beat_hz"] == [pytest.approx(2.0, abs=0.01)]
    assert document["found"] == 2


def test_in_words_it_says_which_reed_to_touch(played):
    lines = combwright("pitch", played(440.0, 882.0), "--reeds", "2").out.splitlines()
    assert lines[2].startswith("A4 and A5 beat 2.00 times a second")
    assert lines[3] == "Touch A5: 3.93 cents too high."


def test_a_lone_reed_is_said_to_be_alone(recording):
    answer = combwright("pitch", recording, "--reeds", "2")
    assert answer.out.startswith("Only one of two reeds can be told in")
    document = combwright("pitch", recording, "--reeds", "2", "--json").document
    assert (document["found"], document["beat_hz"]) == (1, [])
    assert document["reeds"][0]["cents"] == pytest.approx(5, abs=0.02)


@pytest.mark.parametrize(
    ("options", "line"),
    [
        (["--reeds", "3", "--expect", "A4,A5"], "--expect names 2 notes, but 3 reeds sound"),
        (["--expect", "A4,A5"], "--expect names 2 notes, but 1 reed sounds"),
        (["--reeds", "2", "--expect", "A4,H5"], "'H5' is no note"),
        (["--reeds", "4"], "--reeds"),
    ],
)
def test_reeds_that_make_no_sense_are_refused(recording, options, line):
    assert line in combwright("pitch", recording, *options).error
