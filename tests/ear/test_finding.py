import numpy as np
import pytest

from combwright.ear.finding import find, sharpen
from ear.reeds import RATE, cents, reed


@pytest.mark.parametrize(("snr_db", "seconds"), [(10, 0.1), (15, 0.2), (40, 0.2)])
def test_no_octave_is_mistaken_even_where_the_fundamental_is_weak(snr_db, seconds):
    rng = np.random.default_rng(4)
    for number in range(90):
        hz = np.exp(rng.uniform(np.log(87), np.log(2960)))
        sound, true = reed(hz, seconds, rng=rng, snr_db=snr_db, weak=number % 3 == 0)
        found = find(sound, RATE)
        assert abs(cents(found.hz, true)) < 20 or found.doubtful, hz


def test_a_seats_own_note_is_looked_for_beside_it_alone():
    sound, true = reed(523.25, 0.2, rng=np.random.default_rng(5))
    assert abs(cents(find(sound, RATE, near_hz=530).hz, true)) < 10
    assert abs(cents(find(sound, RATE, near_hz=700).hz, true)) > 100


def test_sharpening_comes_within_a_tenth_of_a_cent():
    sound, true = reed(440.7, 0.2, rng=np.random.default_rng(6))
    assert abs(cents(sharpen(sound, RATE, 440, 12), true)) < 0.3
