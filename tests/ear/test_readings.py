"""Whole readings on made-up reeds: how right they are, and whether they know how right."""

import numpy as np
import pytest

from combwright.ear.readings import NoReed, read_reed
from combwright.ear.sound import Sound
from ear.reeds import RATE, amplitudes, bound_cents, cents, reed


def readings(count, seconds, snr_db, *, seed, moves=None, beside=None):
    """Yield a reading's error in cents, its stated error, and the bound, over the whole compass."""
    rng = np.random.default_rng(seed)
    for number in range(count):
        hz = np.exp(rng.uniform(np.log(98), np.log(3136)))
        parts = amplitudes(rng, hz, weak=number % 5 == 0)
        track = moves(rng) if moves else None
        sound, true = reed(hz, seconds, rng=rng, snr_db=snr_db, parts=parts, moves=track)
        if beside:
            sound = sound + beside(rng, hz, len(sound))
        found = read_reed(Sound(sound, RATE))
        assert abs(cents(found.hz, true)) < 50 or found.unsure
        yield cents(found.hz, true), found.sd_cents, bound_cents(hz, seconds, parts, snr_db)


def table(*args, **kwargs):
    return np.array(list(readings(*args, **kwargs))).T


@pytest.mark.parametrize(("seconds", "snr_db"), [(0.2, 20), (0.5, 10), (0.5, 40)])
def test_noise_alone_leaves_an_error_near_the_bound_and_it_is_known(seconds, snr_db):
    error, stated, bound = table(24, seconds, snr_db, seed=7)
    assert np.sqrt(np.mean((error / bound) ** 2)) < 1.5
    assert np.mean(np.abs(error) < stated) > 0.56
    assert np.mean(np.abs(error) < 1.96 * stated) > 0.88


def tremor(depth):
    def track(rng):
        rate, start = rng.uniform(3, 7), rng.uniform(0, 6)
        return lambda t: depth * np.sin(2 * np.pi * rate * t + start)

    return track


def straight(cents):
    return lambda _rng: lambda t: cents * (t - t.mean()) / np.ptp(t)


def curved(cents):
    return lambda _rng: lambda t: cents * np.square((t - t.mean()) / np.ptp(t)) * 4


@pytest.mark.parametrize(
    ("moves", "most"),
    [(straight(4), 0.003), (curved(1), 0.005), (tremor(0.2), 0.005), (tremor(5), 0.01)],
)
def test_the_mean_of_an_unsteady_breath_is_found_and_its_error_known(moves, most):
    error, stated, _ = table(12, 0.7, 25, seed=8, moves=moves)
    assert np.sqrt(np.mean(error**2)) < most
    assert 0.4 < np.mean(np.abs(error) < stated) < 0.95
    assert np.mean(np.abs(error) < 2 * stated) > 0.85


def test_how_much_the_breath_trembles_is_told_beside():
    sound, _ = reed(
        587, 1.0, rng=np.random.default_rng(13), moves=tremor(5)(np.random.default_rng(1))
    )
    steady, _ = reed(587, 1.0, rng=np.random.default_rng(13))
    assert read_reed(Sound(sound, RATE)).spread_cents == pytest.approx(5 / np.sqrt(2), rel=0.1)
    assert read_reed(Sound(steady, RATE)).spread_cents < 0.05


def click(rng, hz, size):
    found = np.zeros(size)
    at = rng.integers(size - 200)
    found[at : at + 100] = np.exp(-np.arange(100) / 20)
    return found


def hum(rng, hz, size):
    return 0.045 * np.sin(2 * np.pi * 50 * np.arange(size) / RATE + rng.uniform(0, 6))


def another_reed(rng, hz, size):
    beside = hz * 2 ** (rng.uniform(-20, 20) / 1200)
    return 0.1 * reed(beside, size / RATE, rng=rng, snr_db=None)[0]


@pytest.mark.parametrize("beside", [click, hum, another_reed])
def test_what_disturbs_a_reading_is_in_its_stated_error(beside):
    error, stated, _ = table(20, 0.4, 30, seed=9, beside=beside)
    assert 0.5 < np.mean(np.abs(error) < stated) < 0.95
    assert np.mean(np.abs(error) < 1.96 * stated) > 0.86
    assert np.median(stated) < 0.02


def test_noise_is_no_reed():
    rng = np.random.default_rng(10)
    for _ in range(10):
        with pytest.raises(NoReed, match="No steady note is heard"):
            read_reed(Sound(rng.normal(0, 0.1, RATE // 2), RATE))


def test_a_voice_that_glides_is_no_reed():
    rng = np.random.default_rng(11)
    sound, _ = reed(140, 1.0, rng=rng, moves=lambda t: 500 * np.sin(2 * np.pi * 2.3 * t))
    with pytest.raises(NoReed):
        read_reed(Sound(sound, RATE))


def test_thirty_milliseconds_are_needed():
    with pytest.raises(NoReed, match="10 ms"):
        read_reed(Sound(np.ones(480), RATE))


@pytest.mark.parametrize(("hz", "rate"), [(1000, RATE), (3136, 8000), (2000, 8000)])
def test_a_tone_of_one_partial_is_read_too(hz, rate):
    rng = np.random.default_rng(14)
    sound, true = reed(hz, 0.5, rng=rng, snr_db=20, rate=rate, parts=[1.0])
    found = read_reed(Sound(sound, rate))
    assert abs(cents(found.hz, true)) < 4 * found.sd_cents
