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
    others = np.delete(levels, -LOWEST_BAND) - levels.max()
    assert others.max() < -17.5
    assert others[[0, -1]].max() < -70


def test_bands_above_the_recordings_reach_hold_nothing():
    noise = np.random.default_rng(1).normal(0, 0.1, 8000)
    levels = band_levels_db(Sound(noise, 8000))
    assert (levels[14:] == -200).all()
    assert levels[:12].min() > -60


#: Frequency over the middle, and the least and the greatest gain in decibels that a third-octave
#: filter of class 1 may have there. Source: [iec-61260], as quoted.
CLASS_1 = [
    (1.0, -0.3, 0.3), (1.02667, -0.4, 0.3), (1.05575, -0.6, 0.3), (1.08746, -1.3, 0.3),
    (1.12202, -5.0, -2.0), (1.29437, None, -17.5), (1.88173, None, -42), (3.05365, None, -61),
    (5.39195, None, -70),
]  # fmt: skip


@pytest.mark.parametrize("seconds", [0.25, 1.0, 1.2345])
@pytest.mark.parametrize("band", [-7, -1, 0, 5])
def test_every_band_passes_and_stops_as_class_1_must(band, seconds):
    rate = 96_000
    t = np.arange(round(seconds * rate)) / rate
    for ratio, least, most in CLASS_1:
        for hz in (middle_hz(band) * ratio, middle_hz(band) / ratio):
            tone = Sound(np.sqrt(2) * np.sin(2 * np.pi * hz * t + 1), rate)
            gain = band_levels_db(tone)[band - LOWEST_BAND]
            assert gain <= most, (hz, gain)
            assert least is None or gain >= least, (hz, gain)


def test_a_tone_on_an_edge_is_shared_evenly_by_two_bands():
    t = np.arange(48_000) / 48_000
    for hz in (edges_hz(0)[1], 0.3 + edges_hz(0)[1]):
        levels = band_levels_db(Sound(np.sqrt(2) * np.sin(2 * np.pi * hz * t), 48_000))
        pair = levels[-LOWEST_BAND : 2 - LOWEST_BAND]
        assert 10 * np.log10(np.sum(10 ** (pair / 10))) == pytest.approx(0, abs=0.01)
    low, high = edges_hz(3)
    assert (low, high) == pytest.approx((edges_hz(2)[1], edges_hz(4)[0]))


def test_a_tone_beside_an_edge_does_not_leap_when_it_moves_by_a_cent():
    rate = 48_000
    t = np.arange(rate // 4) / rate
    for hz in (276.0, 284.0, 294.0, 300.0):
        near = [
            band_levels_db(Sound(0.1 * np.sin(2 * np.pi * each * t), rate))[1:3]
            for each in (hz, hz * 2 ** (1 / 1200))
        ]
        assert np.abs(near[1] - near[0]).max() < 0.2
