"""Loudness against the values that [bs1770] and [ebu-3341] print."""

import numpy as np
import pytest
from scipy.signal import sosfreqz

from combwright.ear.loudness import k_filter, loudness, weigh, weighted_loudness
from combwright.ear.sound import Sound

RATE = 48_000


def tone(*parts, hz=1000, rate=RATE):
    """Return a tone of parts, each a peak level in decibels of full scale and seconds."""
    gain = np.concatenate([np.full(round(s * rate), 10 ** (db / 20)) for db, s in parts])
    return Sound(gain * np.sin(2 * np.pi * hz * np.arange(len(gain)) / rate), rate)


@pytest.mark.parametrize("rate", [44_100, 48_000, 96_000])
def test_a_full_scale_tone_has_the_standards_loudness(rate):
    assert loudness(tone((0, 5), hz=997, rate=rate)) == pytest.approx(-3.0103, abs=0.01)


def test_the_filters_gain_is_that_of_its_table():
    known = {100: -1.1335, 440: 0.00817, 1000: 0.69770, 2000: 3.07126, 4000: 3.96800}
    _, found = sosfreqz(k_filter(RATE), list(known), fs=RATE)
    assert 20 * np.log10(np.abs(found)) == pytest.approx(list(known.values()), abs=1e-3)


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ([(-23, 20)], -23),
        ([(-33, 20)], -33),
        ([(-36, 10), (-23, 60), (-36, 10)], -23),
        ([(-72, 10), (-36, 10), (-23, 60), (-36, 10), (-72, 10)], -23),
        ([(-26, 20), (-20, 20.1), (-26, 20)], -23),
    ],
)
def test_the_gates_pass_the_published_cases(parts, expected):
    # Source: [ebu-3341], cases 1 to 5, stereo, within 0.1 LU.
    assert loudness(tone(*parts), channels=2) == pytest.approx(expected, abs=0.1)


def test_five_channels_add_up_as_the_sixth_case_says():
    # Source: [ebu-3341], case 6: left and right -28, centre -24, surrounds -30 dBFS and 1.41 times
    # the power. Tones alike in all channels sound as loud as one tone of all their power.
    power = 2 * 10**-2.8 + 10**-2.4 + 1.41 * 2 * 10**-3.0
    assert loudness(tone((10 * np.log10(power), 20))) == pytest.approx(-23, abs=0.1)


def test_parts_of_a_weighted_sound_are_as_loud_as_the_whole():
    sound = tone((-30, 4))
    weighted = weigh(sound)
    for start in (0.5, 1.234):
        part = weighted_loudness(weighted.part(start, start + 0.25))
        assert part == pytest.approx(loudness(sound), abs=0.01)


def test_silence_has_no_loudness():
    assert loudness(Sound(np.zeros(RATE), RATE)) == float("-inf")
