"""The fit against bounds that others published, and against truth made up here."""

import numpy as np
import pytest

from combwright.ear.partials import fit, partials_below
from ear.reeds import RATE, bound_cents, cents, reed


def test_the_bound_of_one_sinusoid_is_the_published_one():
    # Source: [rife-boorstyn], 4800 samples at 48 kHz, 440 Hz, 20, 40 and 60 dB.
    found = [bound_cents(440, 0.1, [1.0], snr) for snr in (20, 40, 60)]
    assert found == pytest.approx([0.03131, 0.003131, 0.000313], rel=1e-3)


def test_the_fit_reaches_the_bound_of_one_sinusoid():
    # Source: [rife-boorstyn]: 8 kHz, 1000 samples, 440.3 Hz, 20 dB: 0.013948 Hz.
    rng = np.random.default_rng(1)
    errors, stated = [], []
    for _ in range(300):
        sound, true = reed(440.3, 0.125, rng=rng, snr_db=20, rate=8000, parts=[1.0])
        found = fit(sound, 8000, 440.0, partials=1)
        errors.append(found.hz - true)
        stated.append(found.sd_hz)
    assert np.std(errors) == pytest.approx(0.013948, rel=0.12)
    assert np.median(stated) == pytest.approx(0.013948, rel=0.03)


def test_a_slope_is_found_and_costs_the_centre_nothing():
    rng = np.random.default_rng(2)
    sound, true = reed(440, 0.2, rng=rng, snr_db=None, moves=lambda t: 30 * (t - 0.1))
    found = fit(sound, RATE, 440.2)
    assert abs(cents(found.hz, true)) < 1e-3
    assert found.slope == pytest.approx(30 * 440 * np.log(2) / 1200, rel=1e-3)


def test_hum_beside_a_low_reed_is_fitted_away():
    rng = np.random.default_rng(3)
    sound, true = reed(87, 0.07, rng=rng, snr_db=60)
    hum = 0.1 * np.sin(2 * np.pi * 50 * np.arange(len(sound)) / RATE)
    plain, aside = (fit(sound + hum, RATE, 87.01, hums=hums).hz for hums in ((), (50.0,)))
    assert 5 * abs(cents(aside, true)) < abs(cents(plain, true))


def test_partials_above_the_recordings_reach_are_left_out():
    assert partials_below(1000, 8000) == 3
    assert partials_below(3900, 8000) == 1
