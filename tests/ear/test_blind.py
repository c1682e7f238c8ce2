"""Excerpts as alike as levels and lengths make them; chances against a printed table."""

import numpy as np
import pytest
from scipy.stats import binom

from combwright.ear.blind import (
    BadTrial,
    chance_of,
    excerpts,
    least_right,
    power,
    trials_needed,
)
from combwright.ear.loudness import loudness
from combwright.ear.sound import BadSound, Sound
from ear.reeds import RATE, reed
from published import rows


def played(hz, seconds, *, level=1.0, seed=1, rate=RATE, before_s=0.3):
    rng = np.random.default_rng(seed)
    sound, _ = reed(hz, seconds, rng=rng, snr_db=None, rate=rate)
    quiet = np.zeros(round(before_s * rate))
    whole = np.concatenate([quiet, level * sound, quiet])
    return Sound(whole + rng.normal(0, 1e-4, len(whole)), rate)


def test_excerpts_are_equally_loud_and_long_and_the_gain_is_told():
    a, b, gain_db = excerpts(played(440, 1.5), played(440, 1.1, level=0.25, seed=1, before_s=0.5))
    assert len(a) == len(b) == pytest.approx(1.1 * RATE, abs=0.04 * RATE)
    for each in (a, b):
        assert loudness(Sound(each, RATE)) == pytest.approx(-23, abs=1e-6)
    assert gain_db == pytest.approx(20 * np.log10(4), abs=0.05)


def test_excerpts_begin_and_end_without_a_click_at_the_onset():
    for each in excerpts(played(440, 1.5), played(262, 1.5, seed=2))[:2]:
        assert np.abs(each[[0, -1]]).max() < 1e-3
        loud = np.flatnonzero(np.abs(each) > 0.5 * np.abs(each).max())
        assert loud[0] < 0.03 * RATE


def test_nothing_clips_where_a_peak_stands_far_above_the_rest():
    a = played(440, 1.0)
    a.samples[RATE // 2] = 1.0
    quiet = played(440, 1.0, level=0.02)
    quiet.samples[RATE // 2] = 0.5
    first, second, _ = excerpts(a, quiet)
    assert max(np.abs(first).max(), np.abs(second).max()) <= 10 ** (-1 / 20) + 1e-12
    loud = [loudness(Sound(each, RATE)) for each in (first, second)]
    assert loud[0] == pytest.approx(loud[1], abs=1e-6)
    assert loud[0] < -24


def test_long_sounds_are_cut_and_rates_made_alike():
    a, b, _ = excerpts(played(440, 6), played(440, 6, rate=44_100))
    assert len(a) == len(b) == 4 * 44_100


def test_a_silent_or_very_short_sound_is_refused_in_one_line():
    with pytest.raises(BadSound, match="is silent"):
        excerpts(played(440, 1), Sound(np.zeros(RATE), RATE))
    with pytest.raises(BadSound, match=r"lasts \d+ ms"):
        excerpts(played(440, 1), played(440, 0.05))


def test_right_answers_that_refute_guessing_are_those_of_the_printed_table():
    table = rows("duo_trio.csv")
    assert len(table) > 30
    for row in table:
        n = int(row.pop("n"))
        printed = {float(alpha): int(k) if k else None for alpha, k in row.items()}
        assert {alpha: least_right(n, alpha=alpha) for alpha in printed} == printed


@pytest.mark.parametrize(
    ("right", "trials", "chance"),
    [(8, 10, 0.0547), (12, 16, 0.0384), (15, 20, 0.0207), (0, 7, 1.0), (7, 7, 0.0078)],
)
def test_chances_are_those_of_tables_of_the_binomial_distribution(right, trials, chance):
    assert chance_of(right, trials) == pytest.approx(chance, abs=5e-5)
    assert chance_of(right, trials) == pytest.approx(binom.sf(right - 1, trials, 0.5), rel=1e-12)


def test_the_trials_needed_are_the_first_that_suffice():
    found = trials_needed(0.75, wanted=0.8)
    chances = [binom.sf(least_right(n) - 1, n, 0.75) if least_right(n) else 0 for n in range(1, 60)]
    assert found == next(n for n, chance in enumerate(chances, start=1) if chance >= 0.8)
    assert power(found, 0.75) == pytest.approx(chances[found - 1], rel=1e-12)
    assert trials_needed(1.0) == 5
    assert trials_needed(0.5) is None
    assert power(10_000, 0.52) == pytest.approx(binom.sf(least_right(10_000) - 1, 10_000, 0.52))


@pytest.mark.parametrize(("right", "trials"), [(11, 10), (-1, 10), (0, 0), (1, 10**6)])
def test_trials_that_cannot_have_been_are_refused(right, trials):
    with pytest.raises(BadTrial, match=f"{trials}"):
        chance_of(right, trials)
