from fractions import Fraction
from itertools import combinations
from math import comb

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, hypergeom

from combwright.inspection.chances import (
    BadPlan,
    at_least,
    at_most,
    chance_from_process,
    chance_of_acceptance,
    quick_chance,
)
from inspection.counted import exact_chance
from published import rows


@st.composite
def questions(draw, most=300):
    lot = draw(st.integers(1, most))
    return (
        lot,
        draw(st.integers(0, lot)),
        draw(st.integers(0, lot)),
        draw(st.integers(0, lot)),
    )


@given(questions())
@settings(deadline=None)
def test_the_chance_is_that_of_a_reference_library(asked):
    lot, sample, accept, bad = asked
    theirs = hypergeom.cdf(accept, lot, bad, sample)
    assert chance_of_acceptance(lot, sample, accept, bad) == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("lot", [1, 4, 7])
def test_for_small_deliveries_it_is_what_counting_all_samples_gives(lot):
    for bad in range(lot + 1):
        for sample in range(lot + 1):
            found = [sum(n < bad for n in taken) for taken in combinations(range(lot), sample)]
            for accept in range(lot + 1):
                passing = Fraction(sum(n <= accept for n in found), comb(lot, sample))
                assert exact_chance(lot, sample, accept, bad) == passing
                assert chance_of_acceptance(lot, sample, accept, bad) == float(passing)


@given(questions())
@settings(deadline=None)
def test_the_chance_is_exact(asked):
    assert chance_of_acceptance(*asked) == float(exact_chance(*asked))


@given(questions())
@settings(deadline=None)
def test_more_bad_plates_lower_the_chance_and_more_allowed_raise_it(asked):
    lot, sample, accept, bad = asked
    here = exact_chance(lot, sample, accept, bad)
    if bad < lot:
        assert exact_chance(lot, sample, accept, bad + 1) <= here
    assert exact_chance(lot, sample, accept + 1, bad) >= here
    if sample < lot:
        assert exact_chance(lot, sample + 1, accept, bad) <= here


@given(questions(3000))
@settings(deadline=None)
def test_the_quick_sum_is_right_to_nine_digits(asked):
    lot, sample, accept, bad = asked
    exact = float(exact_chance(lot, sample, accept, bad))
    assert quick_chance(lot, sample, accept, bad) == pytest.approx(exact, abs=1e-9)


def test_a_chance_that_equals_the_risk_is_settled_exactly():
    # Of 10 plates 1 is bad: of the 210 samples of 4 plates 126 miss it.
    assert exact_chance(10, 4, 0, 1) == Fraction(3, 5)
    assert at_most(10, 4, 0, 1, Fraction(3, 5))
    assert at_least(10, 4, 0, 1, Fraction(3, 5))
    assert not at_most(10, 4, 0, 1, Fraction(3, 5) - Fraction(1, 10**12))
    assert not at_least(10, 4, 0, 1, Fraction(3, 5) + Fraction(1, 10**12))


@pytest.mark.parametrize("row", rows("acceptance_chances.csv"))
def test_a_process_has_the_published_chances(row):
    share = Fraction(row["percent"]) / 100
    ours = chance_from_process(int(row["sample"]), int(row["accept"]), share)
    assert ours == pytest.approx(float(row["chance"]), abs=float(row["off"]))


@given(st.integers(0, 80), st.integers(0, 20), st.integers(0, 100))
@settings(deadline=None)
def test_a_process_has_the_chances_of_a_reference_library(sample, accept, percent):
    theirs = binom.cdf(accept, sample, percent / 100)
    ours = chance_from_process(sample, accept, Fraction(percent, 100))
    assert ours == pytest.approx(theirs, abs=1e-9)


def test_a_large_delivery_is_like_a_process():
    assert chance_of_acceptance(1_000_000, 50, 2, 40_000) == pytest.approx(
        chance_from_process(50, 2, 0.04), abs=1e-4
    )


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ((10, 11, 0, 0), "sample of 11 plates cannot be taken from 10"),
        ((10, 3, 0, 11), "Of 10 plates 11 cannot be bad"),
        ((10, 3, -1, 0), "Accepting with -1 bad plates"),
        ((-1, 0, 0, 0), "cannot be taken from -1"),
    ],
)
def test_what_cannot_be_is_refused(asked, why):
    with pytest.raises(BadPlan, match=why):
        chance_of_acceptance(*asked)


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan")])
def test_a_share_that_cannot_be_is_refused(share):
    with pytest.raises(BadPlan):
        chance_from_process(5, 1, share)
