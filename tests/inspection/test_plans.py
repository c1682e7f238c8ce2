from fractions import Fraction
from math import ceil, floor
from random import Random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from combwright.inspection.chances import BadPlan
from combwright.inspection.plans import Plan, Verdict, curve, draw, plan_for, verdict
from inspection.counted import exact_chance


def by_trying_all(lot, good, bad, alpha, beta):
    """The smallest plan by trying every one, from the smallest sample up."""
    for sample in range(1, lot + 1):
        for accept in range(sample + 1):
            if (
                exact_chance(lot, sample, accept, floor(lot * good)) >= 1 - alpha
                and exact_chance(lot, sample, accept, ceil(lot * bad)) <= beta
            ):
                return Plan(lot, sample, accept)
    return None


@given(st.integers(1, 45), st.integers(0, 40), st.integers(1, 60), st.integers(1, 4))
@settings(deadline=None, max_examples=60)
def test_the_plan_is_the_smallest_of_all(lot, good, more, tenth):
    good, bad = Fraction(good, 100), Fraction(good + more, 100)
    assume(bad <= 1)
    alpha, beta = Fraction(tenth, 20), Fraction(tenth, 10)
    ours = plan_for(lot, good, bad, producer_risk=alpha, consumer_risk=beta)
    theirs = by_trying_all(lot, good, bad, alpha, beta)
    assert ours.sample == theirs.sample
    assert exact_chance(lot, ours.sample, ours.accept, floor(lot * good)) >= 1 - alpha
    assert exact_chance(lot, ours.sample, ours.accept, ceil(lot * bad)) <= beta


@pytest.mark.parametrize("lot", [240, 2_000, 50_000])
def test_a_large_plan_keeps_both_risks_and_one_plate_less_does_not(lot):
    plan = plan_for(lot, 0.01, 0.04)
    good, bad = floor(lot * Fraction(1, 100)), ceil(lot * Fraction(4, 100))
    assert plan.chance(good) >= 0.95
    assert plan.chance(bad) <= 0.10
    for accept in range(plan.accept + 3):
        fewer = plan.sample - 1
        assert exact_chance(lot, fewer, accept, good) < Fraction(95, 100) or exact_chance(
            lot, fewer, accept, bad
        ) > Fraction(10, 100)


def test_a_share_is_taken_as_it_is_written():
    # 0.07 of 100 is 7 plates, though 100 * 0.07 is a little more than 7.
    assert plan_for(100, 0, 0.07).chance(7) <= 0.10


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ((0, 0.1, 0.2), "delivery of 0 plates"),
        ((10, 0.2, 0.2), "cannot be told apart"),
        ((10, 0.3, 0.2), "cannot be told apart"),
        ((10, -0.1, 0.2), "cannot be told apart"),
        ((10, 0.1, 1.2), "cannot be told apart"),
        ((100_000, 0.01, 0.011), "takes more than 5000 measured plates"),
    ],
)
def test_a_plan_that_cannot_be_is_refused_with_what_would_be_right(asked, why):
    with pytest.raises(BadPlan, match=why):
        plan_for(*asked)


@pytest.mark.parametrize("risk", [0, 1, -0.1, 2])
def test_a_risk_that_cannot_be_is_refused(risk):
    with pytest.raises(BadPlan, match="A risk of"):
        plan_for(100, 0.01, 0.1, consumer_risk=risk)


def test_a_sample_larger_than_its_delivery_is_no_plan():
    with pytest.raises(BadPlan, match="cannot be taken from 10"):
        Plan(10, 11, 0)
    with pytest.raises(BadPlan, match="cannot be taken from 10"):
        Plan(10, 0, 0)


@given(st.lists(st.booleans(), min_size=1, max_size=60), st.integers(0, 12))
def test_stopping_early_never_changes_the_verdict(plates, accept):
    plan = Plan(len(plates), len(plates), accept)
    whole = verdict(plan, sum(plates), len(plates))
    assert whole is (Verdict.ACCEPT if sum(plates) <= accept else Verdict.HOLD)
    said = [verdict(plan, sum(plates[:n]), n) for n in range(len(plates) + 1)]
    first = next(n for n, each in enumerate(said) if each is not Verdict.GO_ON)
    assert all(each is whole for each in said[first:])
    # It stops as early as it can: before, the rest could still have gone both ways.
    for n in range(first):
        so_far, left = sum(plates[:n]), len(plates) - n
        assert so_far <= accept < so_far + left


@pytest.mark.parametrize(("bad", "measured"), [(2, 1), (-1, 3), (0, 11)])
def test_readings_that_cannot_be_are_refused(bad, measured):
    with pytest.raises(BadPlan, match="cannot be"):
        verdict(Plan(20, 10, 1), bad, measured)


def test_a_curve_begins_at_certainty_and_falls():
    points = curve(Plan(240, 33, 2), up_to=0.3)
    chances = [each.chance for each in points]
    assert chances[0] == 1
    assert chances == sorted(chances, reverse=True)
    assert points[-1].share == pytest.approx(0.3, abs=1 / 240)


@given(st.lists(st.integers(0, 30), min_size=1, max_size=12), st.integers(0, 2**40))
def test_a_draw_takes_each_plate_once_and_is_the_same_for_the_same_seed(counts, seed):
    sample = sum(counts) // 2
    taken = draw(counts, sample, seed)
    assert sum(map(len, taken)) == sample
    for count, which in zip(counts, taken, strict=True):
        assert len(set(which)) == len(which)
        assert all(1 <= each <= count for each in which)
    assert draw(counts, sample, seed) == taken


def test_every_plate_is_as_likely_to_be_drawn_as_any_other():
    counts, dice, turns = (2, 10, 28), Random(7), 4000
    drawn = [0, 0, 0]
    for _ in range(turns):
        for place, which in enumerate(draw(counts, 8, dice.getrandbits(40))):
            drawn[place] += len(which)
    for count, times in zip(counts, drawn, strict=True):
        assert times / turns == pytest.approx(8 * count / 40, rel=0.06)


def test_no_more_is_drawn_than_there_is():
    with pytest.raises(BadPlan, match="sample is 5 plates, but the bins hold 4"):
        draw([1, 3], 5, 1)
