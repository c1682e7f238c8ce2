"""Which backups stay: laws that hold whatever was backed up when."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from combwright.shop.backups.retention import kept

MOMENTS = st.lists(
    st.datetimes(datetime(2024, 1, 1), datetime(2027, 1, 1), timezones=st.just(UTC)), max_size=60
)
MANY = st.integers(0, 12)


@given(MOMENTS, MANY, MANY, MANY)
def test_only_what_was_there_is_kept_and_the_newest_always(moments, daily, weekly, monthly):
    stay = kept(moments, daily, weekly, monthly)
    assert stay <= set(moments)
    assert not moments or max(moments) in stay
    assert len(stay) <= daily + weekly + monthly + 1


@given(MOMENTS, MANY, MANY, MANY)
def test_looking_twice_throws_no_more_away(moments, daily, weekly, monthly):
    stay = kept(moments, daily, weekly, monthly)
    assert kept(stay, daily, weekly, monthly) == stay


@given(MOMENTS, MANY, MANY, MANY)
def test_who_asks_for_more_keeps_at_least_as_much(moments, daily, weekly, monthly):
    stay = kept(moments, daily, weekly, monthly)
    for more in ((1, 0, 0), (0, 1, 0), (0, 0, 1)):
        wider = kept(moments, daily + more[0], weekly + more[1], monthly + more[2])
        assert stay <= wider


@given(MOMENTS, st.integers(1, 12))
def test_the_newest_of_each_of_the_last_days_that_have_one_is_kept(moments, daily):
    days = sorted({each.date() for each in moments}, reverse=True)[:daily]
    stay = kept(moments, daily, 0, 0)
    assert [max(m for m in moments if m.date() == day) for day in days] == sorted(
        stay, reverse=True
    )


def test_over_two_years_of_evenings_each_span_keeps_what_it_promises():
    evening, there = datetime(2024, 1, 1, 18, 30, tzinfo=UTC), set()
    for n in range(730):
        there.add(evening + timedelta(days=n))
        there = set(kept(there, 7, 5, 12))
    newest = max(there)
    for back in range(7):
        assert newest - timedelta(days=back) in there
    sundays = [each for each in there if each.isoweekday() == 7]
    assert len(sundays) >= 4
    months = {(each.year, each.month) for each in there}
    assert len(months) == 12
    # Of a month that is over it is the month's last evening that stayed.
    ended = sorted(each for each in there if (each.year, each.month) != (newest.year, newest.month))
    assert sum((each + timedelta(days=1)).month != each.month for each in ended) == 11


def test_nothing_is_kept_of_nothing():
    assert kept([], 7, 5, 12) == frozenset()
