"""Attacks made up from numbers: how long each takes is known by how it was made."""

import numpy as np
import pytest

from combwright.ear.attack import attack_s, envelope
from combwright.ear.sound import Sound
from combwright.ear.stretches import Stretch
from ear.reeds import RATE, reed

QUIET_S, LONG_S = 0.2, 0.8


def spoken(hz, rise, *, rate=RATE, snr_db=30, seed=1, hum=0.0, offset=0.0):
    """Return a reed whose level rises as `rise` says after a fifth of a second of room."""
    rng = np.random.default_rng(seed)
    tone, _ = reed(hz, LONG_S, rng=rng, snr_db=None, rate=rate)
    tone = tone * np.clip(rise(np.arange(len(tone)) / rate), 0, None)
    sound = np.concatenate([np.zeros(round(QUIET_S * rate)), tone])
    t = np.arange(len(sound)) / rate
    noise = rng.normal(0, 0.1 / 10 ** (snr_db / 20), len(sound))
    return Sound(sound + noise + hum * np.sin(2 * np.pi * 50 * t) + offset, rate)


def attack(sound, hz, **options):
    return attack_s(sound, Stretch(QUIET_S, QUIET_S + LONG_S), hz, **options)


@pytest.mark.parametrize("hz", [196.0, 440.0, 1046.5, 2093.0])
@pytest.mark.parametrize("seconds", [0.03, 0.08, 0.2])
def test_a_level_that_rises_evenly_takes_eight_tenths_of_its_rise(hz, seconds):
    found = attack(spoken(hz, lambda t: np.minimum(1, t / seconds)), hz)
    # To a fifth of the two periods over which the envelope is taken.
    assert found == pytest.approx(0.8 * seconds, rel=0.05, abs=0.4 / hz)


@pytest.mark.parametrize("constant_s", [0.01, 0.03])
def test_a_level_that_nears_its_end_ever_slower_takes_its_time_constant_times_log_nine(constant_s):
    found = attack(spoken(523.25, lambda t: 1 - np.exp(-t / constant_s)), 523.25)
    assert found == pytest.approx(np.log(9) * constant_s, rel=0.06)


@pytest.mark.parametrize("rate", [8_000, 44_100, 96_000])
def test_the_rate_of_the_recording_does_not_matter(rate):
    sound = spoken(440, lambda t: np.minimum(1, t / 0.1), rate=rate)
    assert attack(sound, 440) == pytest.approx(0.08, rel=0.05)


def test_a_note_that_is_there_at_once_reads_as_the_finest_that_can_be_told():
    found = attack(spoken(440, np.ones_like, snr_db=50), 440)
    assert found == pytest.approx(1.6 / 440, rel=0.15)


def test_hum_and_a_constant_voltage_are_left_out():
    sound = spoken(440, lambda t: np.minimum(1, t / 0.1), hum=0.05, offset=0.2)
    assert attack(sound, 440) == pytest.approx(0.08, rel=0.06)


def test_a_loud_room_and_a_note_that_follows_at_once_hide_the_attack():
    assert attack(spoken(440, lambda t: np.minimum(1, t / 0.1), snr_db=10), 440) is None
    joined = spoken(440, np.ones_like)
    assert attack(joined, 440, not_before_s=QUIET_S + 0.02) is None


def test_the_wave_itself_does_not_ripple_in_the_envelope():
    sound, _ = reed(261.63, 0.5, rng=np.random.default_rng(2), snr_db=None)
    inner = envelope(Sound(sound, RATE), 261.63)[1000:-1000]
    assert inner.max() / inner.min() < 1.02
