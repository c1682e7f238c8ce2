"""The two one-sided tests, against figures that others printed or computed."""

import numpy as np
import pytest

from combwright.ear.equivalence import Estimate, estimates, of_repeats

#: Hours of sleep gained under two drugs, ten people each. Source: [student-1908], as printed with
#: the statistics language R, whose page of the t-test gives freedom and interval.
ONE = np.array([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0])
OTHER = np.array([1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4])


def repeated(rng, notes, repeats, *, off=0.0, sd=0.4):
    """Return the values of so many notes, each repeated, the first of them off by so much."""
    values = rng.normal(0, sd, (notes, repeats))
    values[0] += off
    return list(values)


def test_freedom_and_interval_are_those_of_the_printed_example():
    found = of_repeats(ONE, OTHER)
    assert found.difference == pytest.approx(1.58)
    assert found.difference / found.error == pytest.approx(1.8608, abs=5e-5)
    assert found.freedom == pytest.approx(17.776, abs=5e-4)
    assert found.interval(0.025) == pytest.approx((-0.2054832, 3.3654832), abs=5e-8)


@pytest.mark.parametrize(("margin", "p"), [(0.5, 0.8901099612514477), (4.0, 0.005361624103159107)])
def test_the_p_value_is_that_of_another_program(margin, p):
    # Computed apart from this project with statsmodels 0.15 (ttost_ind, variances unequal).
    assert of_repeats(ONE, OTHER).p_within(margin) == pytest.approx(p, rel=1e-9)


def test_a_published_equivalence_is_found():
    # Source: [lakens-2017]: M 5.25 and 5.22, SD 0.95 and 0.83, n 95 and 89, bounds of 0.43 times
    # the pooled SD of 0.894: t(182) = -2.69, p = .004. There the variances were taken as equal.
    error = np.sqrt(0.95**2 / 95 + 0.83**2 / 89)
    found = Estimate(-0.03, float(error), 182, "repeats")
    assert (0.03 - 0.43 * 0.894) / error == pytest.approx(-2.69, abs=0.02)
    assert found.p_within(0.43 * 0.894) == pytest.approx(0.004, abs=5e-4)
    assert found.verdict(0.43 * 0.894) == "the same"


@pytest.mark.parametrize(
    ("difference", "error", "verdict"),
    [(0.2, 0.3, "the same"), (1.2, 0.3, "cannot tell"), (-2.9, 0.3, "different")],
)
def test_the_verdict_goes_by_where_the_interval_lies(difference, error, verdict):
    found = Estimate(difference, error, 10, "repeats")
    assert found.verdict(1.5) == verdict
    assert (found.p_within(1.5) < 0.05) == (verdict == "the same")


def test_what_does_not_differ_at_all_is_the_same():
    again = [np.full(3, 2.0)] * 5
    once = [np.array([float(n)]) for n in range(20)]
    for values in (again, once):
        found = estimates(values, values, [0.0] * len(values))
        assert {each.verdict(0.01) for each in found} == {"the same"}


@pytest.mark.parametrize(
    ("notes", "repeats"), [(1, 2), (1, 3), (1, 6), (4, 1), (8, 1), (20, 1), (3, 3), (20, 2)]
)
def test_a_difference_at_the_margin_is_called_the_same_once_in_twenty(notes, repeats):
    rng = np.random.default_rng(7 + notes + repeats)
    trials, same = 500, 0
    for _ in range(trials):
        a, b = repeated(rng, notes, repeats), repeated(rng, notes, repeats, off=1.5)
        same += estimates(a, b, [0.0] * notes)[0].verdict(1.5) == "the same"
    assert same / trials < 0.05 + 3 * np.sqrt(0.05 * 0.95 / trials)


def test_one_note_that_truly_differs_does_not_blur_the_others():
    rng = np.random.default_rng(3)
    a, b = repeated(rng, 20, 1, sd=0.2), repeated(rng, 20, 1, sd=0.2, off=8.0)
    found = [each.verdict(1.5) for each in estimates(a, b, [0.0] * 20)]
    assert found[0] == "different"
    assert found[1:].count("the same") >= 18


def test_notes_played_more_often_are_known_better():
    rng = np.random.default_rng(4)
    a, b = repeated(rng, 20, 1), repeated(rng, 20, 1)
    a[0] = rng.normal(0, 0.4, 4)
    often, once = estimates(a, b, [0.0] * 20)[:2]
    assert (often.scatter, once.scatter) == ("notes", "notes")
    assert once.error / often.error == pytest.approx(np.sqrt(2 / 1.25), rel=0.2)


def test_two_repeats_of_every_note_tell_more_than_one():
    rng = np.random.default_rng(5)
    same = dict.fromkeys((1, 2), 0)
    for repeats in same:
        for _ in range(20):
            a, b = repeated(rng, 20, repeats), repeated(rng, 20, repeats)
            found = estimates(a, b, [0.0] * 20)
            same[repeats] += sum(each.verdict(1.2) == "the same" for each in found)
    assert same[2] > 1.1 * same[1]


def test_few_repeats_borrow_from_the_other_notes_and_many_speak_for_themselves():
    rng = np.random.default_rng(6)
    a, b = repeated(rng, 10, 3), repeated(rng, 10, 3)
    a[1], a[2] = rng.normal(0, 3, 3), rng.normal(0, 3, 6)
    quiet, wild, alone = estimates(a, b, [0.0] * 10)[:3]
    assert quiet.freedom > 20
    assert wild.error >= np.sqrt(np.var(a[1], ddof=1) / 3)
    assert alone.error == pytest.approx(np.sqrt(np.var(a[2], ddof=1) / 6), rel=0.1)
    assert alone.freedom < 7
    a[0] = a[0][:1]
    assert estimates(a, b, [0.0] * 10)[0].scatter == "repeats"


def test_too_few_notes_played_once_tell_nothing():
    values = [np.array([0.1]), np.array([0.2]), np.array([]), np.array([0.3])]
    assert estimates(values, values, [0.0] * 4) == [None] * 4


def test_the_error_is_no_less_than_that_of_the_readings():
    values = [np.array([float(n)]) for n in range(20)]
    found = estimates(values, values, [0.0, 2.0, *[0.0] * 18])
    assert [each.error for each in found[:2]] == [0.0, 2.0]
