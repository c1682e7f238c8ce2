"""A bar that does not lie: it stays in its bounds and never goes back."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from combwright.shop.jobs.models import Job
from combwright.shop.jobs.progress import Progress
from combwright.shop.jobs.wording import one_line

steps = st.integers(-5, 30) | st.integers()


def share(progress):
    return Fraction(progress.done, progress.total) if progress.total else Fraction(0)


@given(st.lists(st.tuples(steps, steps, st.text())))
def test_whatever_is_said_the_share_never_goes_back_nor_beyond_the_whole(said):
    progress = Progress()
    for done, total, words in said:
        after = progress.after(done, total, words)
        assert 0 <= after.done <= after.total <= 2**62
        assert share(after) >= share(progress)
        assert len(after.words) <= 200
        progress = after


@given(st.integers(1, 1000), st.data())
def test_what_is_said_in_order_is_what_stands(total, data):
    progress = Progress()
    for done in sorted(data.draw(st.lists(st.integers(0, total), min_size=1))):
        progress = progress.after(done, total, f"step {done}")
        assert progress == Progress(done, total, f"step {done}")


def test_words_stay_until_others_are_said():
    assert Progress().after(1, 4, "sawing").after(2, 4) == Progress(2, 4, "sawing")


def test_a_percentage_is_rounded_down_so_that_100_means_all():
    assert Job(done=999, total=1000).percent == 99
    assert Job(done=1000, total=1000).percent == 100
    assert Job(done=0, total=0).percent is None


@given(st.text(st.characters(exclude_categories=())), st.integers(1, 50))
def test_a_line_is_one_line_that_any_database_takes(text, most):
    line = one_line(text, most)
    assert len(line) <= most
    assert len(line.splitlines()) <= 1
    assert "\0" not in line
    assert line.encode("utf-8").decode("utf-8") == line
