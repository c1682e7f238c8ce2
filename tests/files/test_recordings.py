import io

import numpy as np
import pytest
import soundfile

from combwright.ear.sound import Sound
from combwright.files.recordings import pack, pack_recording, unpack
from combwright.files.results import BadFile
from combwright.files.sounds import sound_of

RATE = 22_050
TONE = 0.3 * np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)


def written(samples=TONE, rate=RATE, *, kind="WAV", subtype="PCM_16"):
    file = io.BytesIO()
    soundfile.write(file, samples, rate, subtype, format=kind)
    return file.getvalue()


@pytest.mark.parametrize(("subtype", "bits"), [("PCM_16", 16), ("PCM_24", 24)])
def test_what_is_unpacked_is_what_was_recorded_to_the_last_bit(subtype, bits):
    noise = np.random.default_rng(1).uniform(-1, 1, RATE)
    file = written(noise, subtype=subtype)
    kept = pack_recording(file, "reed.wav").value
    whole, _ = soundfile.read(io.BytesIO(file), dtype="int32")
    assert np.array_equal(unpack(kept.data).samples, whole / 2.0**31)
    assert soundfile.info(io.BytesIO(kept.data)).subtype == f"PCM_{bits}"
    assert (kept.rate, kept.seconds) == (RATE, 1.0)


def test_a_sound_that_was_packed_and_unpacked_packs_the_same():
    data = pack(Sound(TONE, RATE))
    assert pack(unpack(data)) == data


def test_a_sound_beyond_full_scale_is_brought_down_and_not_cut_off():
    loud = unpack(pack(Sound(5 * TONE, RATE)))
    assert loud.samples == pytest.approx(TONE / np.abs(TONE).max(), abs=1e-6)


@pytest.mark.parametrize("rate", [8_000, 44_100, 88_200, 192_000, 384_000])
def test_every_usual_rate_is_kept(rate):
    file = written(np.tile(TONE, 20)[: rate // 4], rate)
    assert unpack(pack_recording(file, "reed.wav").value.data).rate == rate


def test_an_odd_rate_that_cannot_be_packed_is_refused_in_a_line():
    with pytest.raises(BadFile, match="96,001 samples a second, which cannot be packed; record"):
        pack_recording(written(np.tile(TONE, 4), 96_001), "reed.wav")


def test_six_minutes_are_refused_before_they_are_read():
    file = written(np.zeros(8_000 * 360), 8_000, kind="FLAC")
    with pytest.raises(BadFile, match="lasts 6 min and was not read; the most is 5 min"):
        pack_recording(file, "take.flac")


def test_a_small_file_that_unfolds_to_very_much_is_refused_before_it_is_read():
    file = written(np.zeros((1_100_000, 8)), 96_000, kind="FLAC")
    assert len(file) < 1_000_000
    with pytest.raises(BadFile, match=r"holds 8,800,000 samples .*; the most is 5,000,000"):
        sound_of(io.BytesIO(file), "take.flac", most_samples=5_000_000)
