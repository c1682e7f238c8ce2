"""Regular work: done once when it is due, however many workers there are."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.db import OperationalError, connections
from django.db.models.functions import Now

from combwright.shop.jobs import actions, regular
from combwright.shop.jobs.models import Job, Regular
from combwright.shop.jobs.registry import kinds

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]
HOUR = timedelta(hours=1)


@pytest.fixture
def task(monkeypatch):
    """Regular work of an hour, and nothing else; it starts a job."""
    kinds()  # what else there is registers itself before it is laid aside
    monkeypatch.setattr(regular, "_TASKS", {})

    def hourly():
        return actions.start("note", {"what": "hour"}, None)

    regular.regular(every=HOUR)(hourly)
    return next(iter(regular._TASKS.values()))


def move_back(task, by):
    Regular.objects.filter(pk=task.name).update(last_at=Now() - by)


def test_it_is_done_at_first_and_then_when_its_time_has_come(task):
    assert [regular.do_what_is_due() for _ in range(3)] == [1, 0, 0]
    move_back(task, HOUR - timedelta(minutes=1))
    assert regular.do_what_is_due() == 0
    move_back(task, HOUR + timedelta(seconds=1))
    assert [regular.do_what_is_due() for _ in range(3)] == [1, 0, 0]
    assert Job.objects.count() == 2


def test_many_workers_that_look_at_once_do_it_once(task):
    def look(_n):
        try:
            return regular.do_what_is_due()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(6) as pool:
        assert sum(pool.map(look, range(24))) == 1
    assert Job.objects.count() == 1


def test_what_fails_leaves_nothing_half_done_is_logged_and_rests_a_while(task, monkeypatch, caplog):
    def failing():
        actions.start("note", {"what": "half"}, None)
        raise ZeroDivisionError

    monkeypatch.setitem(regular._TASKS, task.name, regular.Task(task.name, HOUR, failing))
    assert regular.do_what_is_due() == 0
    assert Job.objects.count() == 0
    assert f"Regular work {task.name} failed." in caplog.text
    monkeypatch.setitem(regular._TASKS, task.name, task)
    assert regular.do_what_is_due() == 0
    last = Regular.objects.get(pk=task.name).last_at
    Regular.objects.update(last_at=last - timedelta(minutes=5, seconds=1))
    assert regular.do_what_is_due() == 1


def test_one_that_fails_does_not_keep_others_from_being_done(task, monkeypatch):
    def failing():
        raise ZeroDivisionError

    monkeypatch.setitem(regular._TASKS, "a", regular.Task("a", HOUR, failing))
    assert regular.do_what_is_due() == 1


def test_a_fault_of_the_database_passes_and_the_work_is_done_at_the_next_look(task, monkeypatch):
    def busy():
        raise OperationalError("database is locked")

    monkeypatch.setitem(regular._TASKS, task.name, regular.Task(task.name, HOUR, busy))
    assert regular.do_what_is_due() == 0
    monkeypatch.setitem(regular._TASKS, task.name, task)
    assert regular.do_what_is_due() == 1


def test_work_without_a_time_between_its_turns_is_refused():
    with pytest.raises(ValueError, match="time above zero"):
        regular.regular(every=timedelta(0))


def test_throwing_old_jobs_away_is_regular_work_of_the_shop():
    regular.do_what_is_due()
    assert Regular.objects.filter(name__endswith="tidying.throw_old_jobs_away").exists()


def test_no_module_need_be_named(settings, task):
    settings.JOB_MODULES = []
    assert regular.do_what_is_due() == 1
