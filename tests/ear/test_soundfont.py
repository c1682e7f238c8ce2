"""Recorded reeds whose pitch is known exactly, and what others hear in them."""

import numpy as np
import pytest

from combwright.ear.readings import read_reed
from combwright.ear.sound import Sound
from ear.reeds import cents
from ear.soundfonts import ACCORDION, FONT, HARMONICA, loops

pytestmark = pytest.mark.skipif(
    not FONT.exists(), reason=f"the recordings are not here: Debian's fluid-soundfont-gm, {FONT}"
)


def praat(samples, rate):
    """Return the median pitch that Praat hears, told the compass."""
    parselmouth = pytest.importorskip("parselmouth")
    sound = parselmouth.Sound(samples, sampling_frequency=rate)
    hz = sound.to_pitch(pitch_floor=75, pitch_ceiling=4600).selected_array["frequency"]
    return float(np.median(hz[hz > 0]))


def left(program):
    return [each for each in loops(program) if "(R)" not in each.name]


def test_a_repeated_loop_of_a_harmonica_has_exactly_its_whole_number_of_cycles():
    found = left(HARMONICA)
    assert len(found) == 8
    for loop in found:
        heard = loop.repeated(0.5)
        reading = read_reed(Sound(heard, loop.rate))
        cycles = reading.hz * len(loop.samples) / loop.rate
        true = round(cycles) * loop.rate / len(loop.samples)
        assert abs(cents(reading.hz, true)) < 4 * reading.sd_cents + 1e-5, loop.name
        assert reading.sd_cents < 1e-3
        # Which number of cycles it is, somebody else says.
        assert abs(cents(praat(heard, loop.rate), true)) < 0.1, loop.name


def test_a_recorded_breath_of_noise_beside_leaves_the_error_known():
    rng = np.random.default_rng(1)
    for loop in left(HARMONICA):
        heard = loop.repeated(0.5)
        noise = rng.normal(0, np.std(heard) / 10, len(heard))
        reading = read_reed(Sound(heard + noise, loop.rate))
        cycles = reading.hz * len(loop.samples) / loop.rate
        true = round(cycles) * loop.rate / len(loop.samples)
        assert abs(cents(reading.hz, true)) < 4 * reading.sd_cents, loop.name


def test_two_reeds_of_an_accordion_are_heard_where_praat_hears_them():
    for loop in left(ACCORDION):
        heard = loop.samples[: 2 * loop.rate]
        reading = read_reed(Sound(heard, loop.rate))
        assert abs(cents(reading.hz, praat(heard, loop.rate))) < 12, loop.name
        # Two reeds are no steady one, and so it is said.
        assert reading.spread_cents > 1
