import os
import struct

import numpy as np
import pytest
import soundfile

from combwright.files.results import BadFile
from combwright.files.sounds import read_sound

RATE = 48_000
TONE = 0.3 * np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)


def written(folder, samples=TONE, rate=RATE, *, name="reed.wav", **how):
    path = folder / name
    soundfile.write(path, samples, rate, **how)
    return path


@pytest.mark.parametrize("depth", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
def test_a_wav_of_any_depth_is_the_same_sound(tmp_path, depth):
    read = read_sound(written(tmp_path, subtype=depth))
    assert read.warnings == ()
    assert read.value.rate == RATE
    assert read.value.samples == pytest.approx(TONE, abs=1 / 120)


def test_a_flac_is_the_same_sound(tmp_path):
    read = read_sound(written(tmp_path, name="reed.flac", subtype="PCM_24"))
    assert read.value.samples == pytest.approx(TONE, abs=1e-6)


def test_of_two_sides_with_a_dead_one_the_other_is_measured(tmp_path):
    read = read_sound(written(tmp_path, np.column_stack([np.zeros(RATE), TONE])))
    assert read.warnings == ("reed.wav: side 1 is dead; the other is measured.",)
    assert read.value.samples == pytest.approx(TONE, abs=1e-4)


def test_two_sides_are_averaged(tmp_path):
    read = read_sound(written(tmp_path, np.column_stack([TONE, 0.5 * TONE])))
    assert read.value.samples == pytest.approx(0.75 * TONE, abs=1e-4)


def test_a_clipped_sound_is_measured_with_a_warning(tmp_path):
    (warning,) = read_sound(written(tmp_path, np.clip(5 * TONE, -1, 1))).warnings
    assert "clipped; turn the microphone down" in warning


def test_a_telephones_rate_is_measured_with_a_warning(tmp_path):
    (warning,) = read_sound(written(tmp_path, TONE[:8000], 8000)).warnings
    assert "with 8,000 samples a second nothing above 4,000 Hz is heard" in warning


@pytest.mark.parametrize(
    ("samples", "rate", "line"),
    [
        (np.zeros(RATE), RATE, "is silent: its level is nothing at all; check the microphone"),
        (1e-5 * TONE, RATE, "is silent"),
        (TONE[:100], RATE, "lasts 2 ms; a reed needs to sound for a second"),
        (TONE, 4000, "has 4,000 samples a second; record with 8,000 to 384,000"),
        (np.full(RATE, np.nan), RATE, "holds samples that are no numbers"),
        (np.zeros(0), RATE, "lasts 0 ms"),
    ],
)
def test_what_cannot_be_measured_is_refused_in_one_line(tmp_path, samples, rate, line):
    path = written(tmp_path, samples, rate, subtype="FLOAT")
    with pytest.raises(BadFile, match=line) as refusal:
        read_sound(path)
    assert len(str(refusal.value).splitlines()) == 1


def test_two_hours_are_refused_before_they_are_read(tmp_path):
    path, size = tmp_path / "long.wav", 2 * 3600 * 8000
    head = struct.pack("<4sI8sIHHIIHH4sI", b"RIFF", size + 36, b"WAVEfmt ", 16, 1, 1, 8000, 8000, 1,
                       8, b"data", size)  # fmt: skip
    path.write_bytes(head)
    os.truncate(path, size + len(head))
    with pytest.raises(BadFile, match="lasts 2 h 0 min and was not read; the most is 15 min"):
        read_sound(path)


def test_an_mp3_is_known_whatever_its_name(tmp_path):
    path = written(tmp_path, name="reed.mp3")
    named = path.rename(tmp_path / "reed.wav")
    with pytest.raises(BadFile, match="holds MP3 sound, whatever its name"):
        read_sound(named)


@pytest.mark.parametrize("content", [b"", b"RIFF", b"no sound at all" * 100])
def test_what_is_no_recording_is_refused(tmp_path, content):
    path = tmp_path / "reed.wav"
    path.write_bytes(content)
    with pytest.raises(BadFile, match="save it as WAV or FLAC"):
        read_sound(path)


def test_a_file_that_breaks_off_is_refused_or_read_as_far_as_it_goes(tmp_path):
    path = written(tmp_path)
    path.write_bytes(path.read_bytes()[:20_000])
    assert len(read_sound(path).value.samples) == pytest.approx(9978, abs=2)


def test_missing_files_and_folders_are_named(tmp_path):
    with pytest.raises(BadFile, match="is a folder"):
        read_sound(tmp_path)
    with pytest.raises(BadFile, match="There is no file"):
        read_sound(tmp_path / "none.wav")
