import numpy as np
import pytest

from combwright.ear.sound import Sound
from combwright.ear.third_octaves import LOWEST_BAND, band_levels_db, edges_hz, middle_hz


def test_middles_and_edges_are_those_of_the_standard():
    # Source: [iec-61260], base ten.
    known = {-6: 251.1886, -2: 630.9573, 0: 1000, 1: 1258.9254, 7: 5011.8723}
    assert [middle_hz(band) for band in known] == pytest.approx(list(known.values()), abs=5e-5)
    assert edges_hz(0) == pytest.approx((891.2509, 1122.0185), abs=5e-5)


def test_a_tone_is_in_its_own_band_with_its_own_level():
    rate = 48_000
    t = np.arange(rate) / rate
    levels = band_levels_db(Sound(0.5 * np.sin(2 * np.pi * 1000 * t), rate))
    assert int(np.argmax(levels)) == -LOWEST_BAND
    assert levels.max() == pytest.approx(10 * np.log10(0.125), abs=0.01)
    assert np.sort(levels)[-2] < -80


def test_bands_above_the_recordings_reach_hold_nothing():
    noise = np.random.default_rng(1).normal(0, 0.1, 8000)
    levels = band_levels_db(Sound(noise, 8000))
    assert (levels[14:] == -200).all()
    assert levels[:12].min() > -60
