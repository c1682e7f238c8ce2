import numpy as np
import pytest

from combwright.ear.sound import Sound
from combwright.ear.stretches import longest, stretches
from ear.reeds import RATE, reed


def played(*seconds, gap=0.3):
    rng = np.random.default_rng(12)
    parts = [np.zeros(round(gap * RATE))]
    for length in seconds:
        parts += [reed(440, length, rng=rng, snr_db=None)[0], np.zeros(round(gap * RATE))]
    sound = np.concatenate(parts)
    return Sound(sound + rng.normal(0, 1e-3, len(sound)), RATE)


def test_each_breath_is_a_stretch_of_its_own():
    found = stretches(played(0.5, 1.0))
    times = [(each.start_s, each.end_s) for each in found]
    assert times == [
        (pytest.approx(0.3, abs=0.02), pytest.approx(0.8, abs=0.02)),
        (pytest.approx(1.1, abs=0.02), pytest.approx(2.1, abs=0.02)),
    ]


def test_the_longest_is_measured_after_it_has_settled():
    settled = longest(played(0.5, 1.0)).settled()
    assert settled.start_s == pytest.approx(1.35, abs=0.02)
    assert settled.end_s == pytest.approx(2.05, abs=0.02)


def test_of_a_short_sound_the_second_half_is_taken():
    settled = longest(played(0.2)).settled()
    assert settled.seconds == pytest.approx(0.08, abs=0.02)
