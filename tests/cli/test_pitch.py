"""`combwright pitch`, on reeds whose frequency is known by how they were made."""

import numpy as np
import pytest
import soundfile

from cli.commands import combwright
from cli.shapes import NUMBER, check_shape
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
