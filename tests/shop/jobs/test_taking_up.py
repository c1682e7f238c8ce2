"""Who holds a job: one worker at a time, and only the one that holds it changes it."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from random import Random

import pytest
from django.db import IntegrityError, connections, transaction

from combwright.shop.jobs import actions
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.progress import Progress
from combwright.shop.jobs.queries import is_anything_due
from combwright.shop.jobs.registry import kinds
from shop.jobs.hands import LEASE, now, run_out, somebody, start, take

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]
HALF = Progress(1, 2, "half")


def test_jobs_are_taken_up_in_the_order_in_which_they_were_begun():
    begun = [start("note", what=n).pk for n in range(3)]
    assert [take().pk for _ in begun] == begun
    assert take() is None


def test_a_job_that_is_put_off_waits_for_its_time():
    later = actions.start("note", {"what": 1}, None, after=timedelta(hours=1))
    assert not is_anything_due(kinds())
    assert take() is None
    Job.objects.filter(pk=later.pk).update(not_before=later.made_at)
    assert is_anything_due(kinds())
    assert take().pk == later.pk


def test_a_worker_leaves_kinds_that_it_does_not_know():
    unknown = start("from a later version")
    assert not is_anything_due(kinds())
    assert take() is None
    assert now(unknown).state == Job.WAITING


def test_a_silent_workers_job_is_taken_up_again_and_not_before():
    first = start("note", what=1)
    held = take("one")
    assert take("two") is None
    assert actions.beat(held, LEASE, HALF)
    run_out(first)
    again = take("two")
    assert (again.pk, again.worker, again.tries) == (first.pk, "two", 2)
    assert again.token != held.token
    assert (again.done, again.total, again.words) == (0, 0, "")


def test_a_silent_worker_that_nobody_replaced_goes_on_with_its_job():
    start("note", what=1)
    held = take()
    run_out(held)
    assert actions.beat(held, LEASE, HALF)
    assert take() is None
    assert actions.finish(held, {"words": "x"}, HALF)


LATE_WORDS = {
    "beat": lambda job: actions.beat(job, LEASE, HALF),
    "finish": lambda job: actions.finish(job, {"words": "late"}, HALF),
    "fail": lambda job: actions.fail(job, "late"),
    "stop": actions.stop,
    "put back": lambda job: actions.put_back(job, counted=False),
}


@pytest.mark.parametrize("word", LATE_WORDS)
@pytest.mark.parametrize("since", ["taken up", "done", "failed", "stopped", "waiting"])
def test_a_late_word_of_an_earlier_holder_changes_nothing(word, since):
    start("note", what=1)
    old = take("old")
    run_out(old)
    new = take("new")
    if since == "done":
        actions.finish(new, {"words": "new"}, HALF)
    elif since == "failed":
        actions.fail(new, "new")
    elif since == "stopped":
        actions.stop(new)
    elif since == "waiting":
        actions.put_back(new, counted=True)
    before = Job.objects.values().get()
    assert LATE_WORDS[word](old) is False
    assert Job.objects.values().get() == before


def test_a_job_whose_worker_ends_each_time_is_given_up_with_one_clear_line():
    job = start("note", what=1)
    for _ in range(actions.MOST_TRIES):
        run_out(take("the back room"))
    assert take() is None
    over = now(job)
    assert over.state == Job.FAILED
    assert over.error.startswith("Given up after 3 tries: each time its worker ended")
    assert "the back room" in over.error
    assert over.finished_at is not None


def test_a_worker_that_had_to_leave_is_not_held_against_the_job():
    job = start("note", what=1)
    for _ in range(actions.MOST_TRIES * 2):
        assert actions.put_back(take(), counted=False)
    assert now(job).tries == 0
    assert take().tries == 1


def test_a_waiting_job_is_stopped_at_once():
    job, person = start("note", what=1), somebody()
    stopped = actions.ask_to_stop(job, person)
    assert (stopped.state, stopped.stop_asked_by) == (Job.STOPPED, person)
    assert take() is None


def test_a_job_whose_worker_is_gone_is_stopped_without_a_worker():
    start("note", what=1)
    run_out(take())
    assert actions.ask_to_stop(Job.objects.get(), somebody()).state == Job.STOPPED


def test_a_job_whose_worker_died_after_it_was_asked_to_stop_is_not_begun_again():
    start("note", what=1)
    held = take()
    assert actions.ask_to_stop(held, somebody()).state == Job.RUNNING
    run_out(held)
    assert take() is None
    assert now(held).state == Job.STOPPED


def test_a_job_that_is_put_back_after_it_was_asked_to_stop_is_stopped():
    start("note", what=1)
    held = take()
    actions.ask_to_stop(held, somebody())
    assert actions.put_back(held, counted=False)
    assert now(held).state == Job.STOPPED


def test_a_job_that_is_over_cannot_be_stopped_any_more():
    start("note", what=1)
    held = take()
    actions.finish(held, {"words": "kept"}, HALF)
    before = Job.objects.values().get()
    assert actions.ask_to_stop(held, somebody()).state == Job.DONE
    assert Job.objects.values().get() == before


def test_of_single_jobs_one_is_open_at_a_time():
    def single():
        return actions.start("note", {"what": 1}, None, single="backup")

    first = single()
    assert single() == first
    held = take()
    assert single() == first
    actions.finish(held, None, HALF)
    assert single() != first


def test_of_single_jobs_that_many_begin_at_once_one_is_made():
    def one(_n):
        try:
            return actions.start("note", {"what": 1}, None, single="backup").pk
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(one, range(16)))) == 1
    assert Job.objects.count() == 1


def test_the_database_itself_keeps_a_job_from_running_without_a_holder():
    job = start("note", what=1)
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(state=Job.RUNNING)
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(state="odd")


def test_many_that_take_up_at_once_never_get_the_same_job():
    begun = {start("note", what=n).pk for n in range(60)}

    def hand(name):
        taken = []
        try:
            # On PostgreSQL one may find all that is left locked by others, and look again.
            while is_anything_due(kinds()):
                job = take(f"hand {name}")
                if job is not None:
                    taken.append((job.pk, job.token))
        finally:
            connections.close_all()
        return taken

    with ThreadPoolExecutor(6) as pool:
        taken = [each for hands in pool.map(hand, range(6)) for each in hands]
    assert sorted(pk for pk, _token in taken) == sorted(begun)
    assert dict(taken) == dict(Job.objects.values_list("pk", "token"))


@pytest.mark.parametrize("seed", range(5))
def test_in_whatever_order_things_happen_only_the_holder_is_heard(seed):
    """A job and all who ever held it, told in any order, against a model of three lines."""
    dice = Random(seed)
    job = start("note", what=1)
    claims, holder, over = [], None, False
    for _ in range(60):
        what = dice.choice(["take up", "run out", *LATE_WORDS])
        if what == "take up":
            taken = take(f"w{len(claims)}")
            if taken is not None:
                assert not over
                claims.append(taken)
                holder = taken.token
        elif what == "run out" and holder is not None and not over:
            run_out(job)
        elif what in LATE_WORDS and claims:
            claim = dice.choice(claims)
            before = Job.objects.values().get()
            heard = LATE_WORDS[what](claim)
            assert heard == (claim.token == holder and not over)
            if not heard:
                assert Job.objects.values().get() == before
            elif what == "put back":
                holder = None
            elif what != "beat":
                over = True
        there = now(job)
        if there.state == Job.FAILED and there.tries == actions.MOST_TRIES:
            over = True
        assert over == (not there.is_open)
        assert there.tries <= actions.MOST_TRIES


def test_old_jobs_are_thrown_away_and_younger_and_open_ones_kept():
    old, young, waiting = (start("note", what=n) for n in range(3))
    for _ in range(2):
        actions.finish(take(), {"words": "kept"}, HALF)
    for job, days in ((old, 91), (young, 89)):
        Job.objects.filter(pk=job.pk).update(finished_at=job.made_at - timedelta(days=days))
    Job.objects.filter(pk=waiting.pk).update(made_at=waiting.made_at - timedelta(days=400))
    assert actions.throw_away_old() == 1
    assert set(Job.objects.values_list("pk", flat=True)) == {young.pk, waiting.pk}
    assert now(young).result == {"words": "kept"}
