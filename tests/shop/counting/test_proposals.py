from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combwright.shop.counting.models import Ask
from combwright.shop.counting.proposals import REST_DAYS, Candidate, propose

NOW = datetime(2026, 5, 4, tzinfo=UTC)


def one(key, days=None, *, held=10, change=0, taken=0, walk=None):
    at = None if days is None else NOW - timedelta(days=days)
    code = f"A-{key}"
    return Candidate(key, code, code if walk is None else walk, held, at, change, taken)


def keys(proposed):
    return [each.bin.key for each in proposed]


def why(candidate, **needed):
    (proposed,) = propose([candidate], now=NOW, most=1, **needed)
    return proposed.why


def test_each_reason_is_said():
    assert why(one(1)) == Ask.NEVER
    assert why(one(1, 30, change=-2)) == Ask.DIFFERED
    assert why(one(1, 30), needed={1: 9}) == Ask.NEEDED
    assert why(one(1, 20, held=2, taken=50)) == Ask.TAKEN
    assert why(one(1, 400)) == Ask.LONG


def test_a_bin_never_counted_comes_before_one_that_differed_and_that_before_an_old_one():
    bins = [one(1, 300), one(2, 30, change=1), one(3), one(4, 30)]
    for most, expected in [(1, [3]), (2, [2, 3]), (3, [1, 2, 3])]:
        assert keys(propose(bins, now=NOW, most=most)) == expected


def test_what_agreed_this_week_is_left_in_peace_unless_it_is_needed():
    fresh = one(1, REST_DAYS - 1)
    assert propose([fresh], now=NOW, most=5) == []
    assert keys(propose([fresh], now=NOW, most=5, needed={1: 3})) == [1]
    assert keys(propose([one(1, REST_DAYS - 1, change=3)], now=NOW, most=5)) == [1]


def test_the_bins_lie_along_the_walk_as_people_read_it():
    bins = [one(10), one(9), one(2), one(1, walk="")]
    assert keys(propose(bins, now=NOW, most=9)) == [2, 9, 10, 1]


candidates = st.lists(
    st.builds(
        one,
        st.integers(1, 500),
        st.none() | st.integers(0, 900),
        held=st.integers(0, 50),
        change=st.integers(-9, 9),
        taken=st.integers(0, 50),
    ),
    max_size=40,
    unique_by=lambda each: each.key,
)


@given(candidates, st.integers(1, 30), st.randoms())
def test_the_order_of_asking_changes_nothing_and_no_bin_left_out_weighs_more(bins, most, dice):
    proposed = propose(bins, now=NOW, most=most)
    shuffled = list(bins)
    dice.shuffle(shuffled)
    assert propose(shuffled, now=NOW, most=most) == proposed
    assert len(proposed) == min(most, len(propose(bins, now=NOW, most=len(bins) or 1)))
    chosen = set(keys(proposed))
    rest = [b for b in bins if b.key not in chosen]
    left = [each.weight for each in propose(rest, now=NOW, most=len(rest) or 1)]
    if left and proposed:
        assert max(left) <= min(each.weight for each in proposed) + 1e-9


@pytest.mark.parametrize("days", [8, 100, 364])
def test_time_and_plates_taken_only_add_weight(days):
    (younger,) = propose([one(1, days)], now=NOW, most=1)
    (older,) = propose([one(1, days + 1)], now=NOW, most=1)
    (busier,) = propose([one(1, days, taken=3)], now=NOW, most=1)
    assert older.weight > younger.weight
    assert busier.weight > younger.weight
