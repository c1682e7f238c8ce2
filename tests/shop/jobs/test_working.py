"""A worker at work: what comes of jobs that go well, go wrong, or must stop."""

import logging
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path
from threading import Event

import pytest
from django.db import DatabaseError, InterfaceError, OperationalError, connection, connections

from combwright.shop.jobs import actions, beat, worker
from combwright.shop.jobs.models import Job, Regular
from combwright.shop.jobs.queries import is_anything_due
from combwright.shop.jobs.registry import kinds
from combwright.shop.jobs.run import Run, Stopped, Why
from combwright.shop.jobs.worker import Worker
from shop.jobs.hands import at_work, marks, now, run_out, somebody, start, take, until
from shop.jobs.kinds import DONE

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]
SHORT = timedelta(seconds=0.6)


@pytest.fixture
def files(tmp_path):
    return {"begun": str(tmp_path / "begun"), "go": str(tmp_path / "go")}


def begun(files):
    return lambda: Path(files["begun"]).exists()


def let_go(files):
    Path(files["go"]).touch()


def test_a_job_is_done_and_its_result_is_kept():
    job = start("note", somebody(), what="rivets")
    told = []
    assert Worker(told=told.append).work_off() == 1
    over = now(job)
    assert (over.state, over.result_words, over.address) == (Job.DONE, "noted rivets", "/rack/")
    assert (over.token, over.lease_until, over.error) == (None, None, "")
    assert over.seconds >= 0
    assert told == [over]
    assert DONE == ["rivets"]


def test_work_that_is_refused_keeps_its_own_line():
    job = start("refuse", text="Bin A-1 holds 3 plates;\n 9 cannot be taken from it.")
    Worker().work_off()
    over = now(job)
    assert over.state == Job.FAILED
    assert over.error == "Bin A-1 holds 3 plates; 9 cannot be taken from it."


@pytest.mark.parametrize(
    ("kind", "arguments"),
    [
        ("blunder", {}),
        ("note", {"no such argument": 1}),
        ("give", {"what": "object"}),
        ("give", {"what": "nan"}),
    ],
)
def test_a_fault_of_the_program_is_one_clear_line_and_the_rest_is_in_the_log(
    kind, arguments, caplog
):
    job = start(kind, **arguments)
    Worker(name="the back room").work_off()
    over = now(job)
    assert over.state == Job.FAILED
    assert over.error == (
        f"The program made a mistake; the log of the back room tells more under job {job.pk}."
    )
    logged = [r for r in caplog.records if r.exc_info]
    assert [r.getMessage() for r in logged] == [
        f"Job {job.pk} ({kind}) failed by a fault of the program."
    ]


def test_a_result_that_one_database_takes_and_the_other_does_not_still_ends_the_job():
    job = start("give", what="zero")
    Worker().work_off()
    assert now(job).state == (Job.DONE if connection.vendor == "sqlite" else Job.FAILED)


def test_one_bad_job_does_not_keep_the_next_from_being_done():
    start("blunder")
    start("note", what="after it")
    assert Worker().work_off() == 2
    assert DONE == ["after it"]


def test_how_far_a_job_is_is_seen_while_it_runs_and_never_goes_back():
    job = start("steps", steps=100, pause=0.02)
    seen = []

    def over():
        there = now(job)
        if there.state == Job.RUNNING:
            seen.append((there.done, there.total, there.words))
        return not there.is_open

    with at_work(lease=SHORT):
        until(over, "the job's end")
    assert now(job).state == Job.DONE
    assert seen == sorted(seen)
    assert len(set(seen)) > 3
    assert all(total in (0, 100) for _done, total, _words in seen)
    assert all(words == (f"step {done}" if total else "") for done, total, words in seen)
    assert (now(job).done, now(job).total) == (99, 100)


def test_a_job_that_outlasts_its_lease_many_times_keeps_it(files):
    job = start("hold", **files)
    with at_work(lease=SHORT):
        until(begun(files), "the job's begin")
        first = now(job).lease_until
        until(lambda: now(job).lease_until > first + 3 * SHORT, "a later lease")
        with at_work(lease=SHORT, name="another"):
            let_go(files)
            until(lambda: now(job).state == Job.DONE, "the job's end")
    assert now(job).tries == 1
    assert marks() == 1


@pytest.mark.parametrize("kind", ["hold", "swallow"])
def test_a_running_job_stops_when_somebody_asks(kind, files):
    job = start(kind, somebody(), **(files if kind == "hold" else {}))
    with at_work(lease=SHORT):
        until(lambda: now(job).state == Job.RUNNING, "the job's begin")
        assert actions.ask_to_stop(job, somebody()).state in Job.OPEN
        until(lambda: now(job).state == Job.STOPPED, "its stop")
    assert now(job).stop_asked_by == somebody()
    assert marks() == 0


def test_work_that_never_asks_is_done_when_it_is_done(files):
    job = start("deaf", **files)
    with at_work(lease=SHORT):
        until(begun(files), "the job's begin")
        actions.ask_to_stop(job, somebody())
        let_go(files)
        until(lambda: not now(job).is_open, "its end")
    assert (now(job).state, now(job).result) == (Job.DONE, "done all the same")


def test_a_worker_that_must_leave_puts_its_job_back_for_another(files):
    job = start("hold", **files)
    with at_work(lease=SHORT):
        until(begun(files), "the job's begin")
    there = now(job)
    assert (there.state, there.tries, there.done, there.words) == (Job.WAITING, 0, 0, "")
    let_go(files)
    assert Worker().work_off() == 1
    assert (now(job).state, marks()) == (Job.DONE, 1)


def test_a_worker_that_lost_its_job_stops_and_neither_its_end_nor_its_writes_are_kept(files):
    job = start("hold", **files)
    with at_work(lease=SHORT, name="old"):
        until(begun(files), "the job's begin")
        other = until(lambda: run_out(job) or take("new"), "another holder")
        let_go(files)
    assert marks() == 0
    assert (now(job).state, now(job).worker) == (Job.RUNNING, "new")
    assert now(job).token == other.token


def test_what_is_written_with_the_jobs_end_is_not_kept_when_the_job_was_lost(files):
    start("note", what=1)
    run = Run(take("old"))
    run_out(run.job)
    new = take("new")

    def close():
        with run.closing() as result:
            Regular.objects.create(name="mark 1")
            result["words"] = "old"

    with pytest.raises(Stopped, match=Why.LOST.value):
        close()
    assert marks() == 0
    assert now(new).state == Job.RUNNING


def test_a_worker_hears_that_it_lost_its_job(files):
    start("note", what=1)
    run = Run(take("old"))
    run_out(run.job)
    take("new")
    with beat.Beat(run, SHORT):
        until(lambda: run._why is Why.LOST, "word of the loss")
    run.must_stop(Why.ASKED)
    with pytest.raises(Stopped, match="another worker holds the job now"):
        run.progress(1, 2)


def test_a_busy_database_is_no_fault_of_the_job_until_it_happens_too_often():
    job = start("busy")
    for tries in range(1, actions.MOST_TRIES):
        Worker().work_off()
        there = now(job)
        assert (there.state, there.tries) == (Job.WAITING, tries)
        assert there.not_before > there.started_at
        Job.objects.update(not_before=job.made_at)
    Worker().work_off()
    assert now(job).state == Job.FAILED
    assert now(job).error.startswith("Given up after 3 tries: the database did not answer")


class Failing:
    """A function that fails some times before it does what it did."""

    def __init__(self, act, errors):
        self.act, self.errors = act, list(errors)

    def __call__(self, *args, **options):
        if self.errors:
            raise self.errors.pop(0)
        return self.act(*args, **options)


PASSING = [OperationalError("database is locked"), InterfaceError("connection already closed")]


@pytest.mark.parametrize("name", ["take_up", "finish", "beat"])
def test_a_database_that_fails_for_a_while_costs_neither_the_worker_nor_the_job(
    name, monkeypatch, caplog
):
    monkeypatch.setattr(worker, "_LEAST_PATIENCE", 0.01)
    monkeypatch.setattr(worker, "_MOST_PAUSE", 0.01)
    failing = Failing(getattr(actions, name), PASSING)
    monkeypatch.setattr(actions, name, failing)
    job = start("steps", steps=60, pause=0.02)
    with at_work(lease=SHORT):
        until(lambda: now(job).state == Job.DONE, "the job's end")
    assert now(job).tries == 1
    assert not failing.errors
    assert "database is locked" in caplog.text


def test_a_fault_while_looking_for_work_is_outlived_too(monkeypatch):
    monkeypatch.setattr(worker, "_MOST_PAUSE", 0.01)
    errors = [*PASSING, DatabaseError('relation "jobs_job" does not exist')]
    monkeypatch.setattr(worker, "do_what_is_due", Failing(lambda: 0, errors))
    monkeypatch.setattr(worker, "_REGULAR_SECONDS", 0)
    job = start("note", what=1)
    with at_work():
        until(lambda: now(job).state == Job.DONE, "the job's end")


def test_a_worker_that_is_cut_off_for_a_whole_lease_counts_its_job_as_lost(monkeypatch):
    start("note", what=1)
    run = Run(take())
    gone = Failing(actions.beat, PASSING * 10_000)
    monkeypatch.setattr(actions, "beat", gone)
    with beat.Beat(run, SHORT):
        until(lambda: len(gone.errors) < 20_000 - 12, "many beats that failed")
    # On SQLite the work itself may keep the database locked, and nobody else can take it up.
    assert (run._why is Why.LOST) == (connection.vendor != "sqlite")


def test_a_worker_that_has_nothing_to_do_looks_ever_more_seldom(monkeypatch):
    waits = []

    class Leaving(Event):
        def wait(self, timeout=None):
            waits.append(timeout)
            if len(waits) == 12:
                self.set()
            return self.is_set()

    Worker(leaving=Leaving()).work_until_told()
    assert waits[0] == 0.2
    assert waits == sorted(waits)
    assert waits[-1] == 2.0


def test_a_look_for_work_locks_nothing_and_asks_once(django_assert_num_queries):
    for n in range(5):
        actions.start("note", {"what": n}, None, after=timedelta(hours=1))
    with django_assert_num_queries(1) as asked:
        assert not is_anything_due(kinds())
    assert "FOR UPDATE" not in asked[0]["sql"]


def test_many_workers_at_once_do_every_job_once():
    for n in range(40):
        start("note", what=n)

    def work(n):
        one = Worker(name=f"w{n}")
        try:
            until(lambda: one.turn() or not Job.objects.filter(state="waiting").exists())
            while Job.objects.filter(state="waiting").exists():
                one.turn()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(5) as pool:
        list(pool.map(work, range(5)))
    assert sorted(DONE) == list(range(40))
    assert set(Job.objects.values_list("state", "tries")) == {(Job.DONE, 1)}


def test_jobs_are_told_to_the_log_without_their_arguments(caplog):
    caplog.set_level(logging.DEBUG, "combwright")
    job = start("note", somebody(name="ida"), what="nine brass rivets")
    Worker(name="w").work_off()
    said = [r.getMessage() for r in caplog.records if r.name == "combwright.jobs"]
    assert said == [
        f'event=job_started job={job.pk} kind="note" by="ida"',
        f'event=job_taken_up job={job.pk} kind="note" worker="w" tries=1',
        f'event=job_done job={job.pk} kind="note" worker="w"',
    ]
    assert "brass" not in caplog.text
