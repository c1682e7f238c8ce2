"""Workers as real processes: killed, told to end, many at once; and the one inside the shop."""

import os
import signal
from pathlib import Path

import pytest
from django.db import connection

from cli.commands import combwright_apart
from combwright.shop.jobs import actions, embedded
from combwright.shop.jobs.models import Job, Regular
from shop.jobs.hands import (
    EMBEDDED,
    marks,
    now,
    process,
    somebody,
    start,
    surroundings,
    until,
)

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.data,
    pytest.mark.usefixtures("interrupts_reach_children"),
]


@pytest.fixture(autouse=True)
def no_regular_work():
    """Count as done what the kinds of the tests do every day."""
    Regular.objects.create(name="shop.jobs.kinds.every_day", last_at="2999-01-01T00:00Z")


@pytest.fixture
def files(tmp_path):
    return {"begun": str(tmp_path / "begun"), "go": str(tmp_path / "go")}


def begun(files):
    """Return which job was begun by which process, each time one was."""
    path = Path(files["begun"])
    lines = path.read_text().splitlines() if path.exists() else []
    return [tuple(map(int, line.split())) for line in lines]


def test_a_killed_workers_job_is_taken_up_by_another_and_done_once(files):
    job = start("hold", **files)
    with process() as first:
        until(lambda: begun(files), "the job's begin")
        first.kill()
        first.wait()
        assert now(job).state == Job.RUNNING
        with process() as second, process() as third:
            until(lambda: len(begun(files)) == 2, "its second begin")
            assert marks() == 0
            Path(files["go"]).touch()
            until(lambda: now(job).state == Job.DONE, "its end")
            assert begun(files)[0][1] == first.pid
            assert begun(files)[1][1] in (second.pid, third.pid)
    assert (now(job).tries, marks()) == (2, 1)


def test_a_worker_that_was_frozen_beyond_its_lease_changes_nothing_when_it_wakes(files):
    job = start("hold", **files)
    with process() as first:
        until(lambda: begun(files), "the job's begin")
        first.send_signal(signal.SIGSTOP)
        with process() as second:
            until(lambda: len(begun(files)) == 2, "its second begin")
            first.send_signal(signal.SIGCONT)
            Path(files["go"]).touch()
            until(lambda: now(job).state == Job.DONE, "its end")
            assert now(job).worker.endswith(f"process {second.pid}")
            start("note", what="both still work")
            until(lambda: not Job.objects.filter(state="waiting").exists(), "the next job")
        assert first.poll() is None
    assert marks() == 1


def test_many_processes_do_every_job_once(tmp_path):
    path = tmp_path / "written"
    jobs = [start("write", path=str(path), text=n) for n in range(40)]
    with process(), process(), process():
        until(lambda: not Job.objects.filter(state__in=Job.OPEN).exists(), "their end")
    assert sorted(map(int, path.read_text().split())) == list(range(40))
    assert {(now(job).state, now(job).tries) for job in jobs} == {(Job.DONE, 1)}


def test_regular_work_is_done_once_by_many_processes(tmp_path):
    Regular.objects.filter(name="shop.jobs.kinds.every_day").update(last_at=None)
    path = tmp_path / "written"
    with process("--once"), process("--once"), process("--once") as last:
        for n in range(10):
            start("write", path=str(path), text=n)
        last.wait(60)
        until(lambda: marks("day") == 1, "the day's work")
    assert marks("day") == 1


def test_a_workers_death_in_the_middle_of_every_try_ends_in_one_clear_line(files):
    job = start("hold", **files)
    for tries in range(1, actions.MOST_TRIES + 1):
        with process() as worker:
            until(lambda tries=tries: len(begun(files)) == tries, f"begin {tries}")
            worker.kill()
            worker.wait()
    with process():
        until(lambda: now(job).state == Job.FAILED, "its end")
    assert now(job).error.startswith("Given up after 3 tries")
    assert marks() == 0


@pytest.mark.parametrize(("word", "code"), [(signal.SIGTERM, 0), (signal.SIGINT, 130)])
def test_a_worker_that_is_told_to_end_puts_its_job_back_first(files, word, code):
    job = start("hold", **files)
    with process() as worker:
        until(lambda: begun(files), "the job's begin")
        worker.send_signal(word)
        out, err = worker.communicate(timeout=60)
    assert worker.returncode == code
    assert "Traceback" not in err
    assert (now(job).state, now(job).tries) == (Job.WAITING, 0)
    assert f"Job {job.pk}, hold: put back" in out


def test_a_worker_whose_work_does_not_listen_ends_all_the_same(files):
    job = start("deaf", **files)
    with process() as worker:
        until(lambda: begun(files), "the job's begin")
        worker.send_signal(signal.SIGTERM)
        assert worker.wait(60) == 0
    assert (now(job).state, now(job).tries) == (Job.RUNNING, 1)
    Path(files["go"]).touch()
    with process():
        until(lambda: now(job).state == Job.DONE, "its end")
    assert now(job).tries == 2


def test_the_command_says_what_it_does_a_line_for_each_job(tmp_path):
    good = start("note", somebody(), what="x")
    bad = start("refuse", text="No plate is left.")
    told = combwright_apart("run-jobs", "--once", env=surroundings())
    assert told.code == 0
    first, *lines = told.out.splitlines()
    assert first.startswith("Worker ")
    assert first.endswith("takes up jobs; it ends when nothing is due.")
    assert lines[0].startswith(f"Job {good.pk}, note: done in ")
    assert lines[1].startswith(f"Job {bad.pk}, refuse: failed in ")
    assert lines[1].endswith(": No plate is left.")
    assert len(lines) == 2
    sqlite = connection.vendor == "sqlite"
    assert told.err.startswith("Note: With SQLite, `combwright serve` works") == sqlite
    assert told.err.count("\n") == int(sqlite)


def test_a_shop_that_was_never_set_up_is_refused_in_one_line(tmp_path):
    plain = {k: v for k, v in os.environ.items() if k != "COMBWRIGHT_DATABASE"}
    told = combwright_apart("run-jobs", "--data", tmp_path / "new", env=plain)
    assert "start `combwright serve` of this version once" in told.error


def test_a_database_that_is_not_there_is_refused_in_one_line(tmp_path):
    nowhere = {
        **os.environ,
        "COMBWRIGHT_DATABASE": f"postgresql://shop:brass@/shop?host={tmp_path}",
        "COMBWRIGHT_DATA": str(tmp_path),
    }
    told = combwright_apart("run-jobs", env=nowhere)
    assert "The shop's database cannot be reached" in told.error
    assert "brass" not in told.error


@pytest.fixture
def inside(monkeypatch):
    for name, value in surroundings().items():
        monkeypatch.setenv(name, value)


def is_running(number):
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.mark.usefixtures("inside")
def test_the_worker_inside_the_shop_works_is_there_again_when_it_dies_and_leaves_with_it(files):
    keeper = embedded.Keeper()
    try:
        job = start("hold", **files)
        until(lambda: begun(files), "the job's begin")
        first = keeper.number
        assert begun(files) == [(job.pk, first)]
        os.kill(first, signal.SIGKILL)
        until(lambda: len(begun(files)) == 2, "its second begin")
        second = keeper.number
        assert begun(files)[1] == (job.pk, second)
    finally:
        keeper.leave()
    assert not is_running(second)
    assert now(job).state == Job.WAITING
    assert marks() == 0


@pytest.mark.usefixtures("inside")
def test_only_a_shop_on_sqlite_has_a_worker_inside(monkeypatch):
    kept = []

    class Keeper:
        def __init__(self):
            kept.append("began")

        def leave(self):
            kept.append("left")

    monkeypatch.setattr(embedded, "Keeper", Keeper)
    with embedded.working_inside():
        kept.append("served")
    sqlite = connection.vendor == "sqlite"
    assert kept == (["began", "served", "left"] if sqlite else ["served"])


def test_a_worker_inside_ends_when_the_shop_that_started_it_was_killed(files):
    read, write = os.pipe()
    job = start("hold", **files)
    with process(command=EMBEDDED, stdin=read) as worker:
        os.close(read)
        until(lambda: begun(files), "the job's begin")
        worker.send_signal(signal.SIGINT)  # Ctrl-C reaches it too, and is the shop's to answer
        until(lambda: now(job).words == "holding on", "word of it")
        assert worker.poll() is None
        os.close(write)
        assert worker.wait(60) == 0
    assert now(job).state == Job.WAITING
