"""Backups that are made by themselves, and what is thrown away."""

import datetime as dt

import pytest
from django.utils import timezone as django_timezone

from combwright.errors import CombwrightError
from combwright.shop.backups import actions, tasks
from combwright.shop.backups.folder import lying_in
from combwright.shop.backups.models import BackupPlan, Check
from combwright.shop.backups.queries import backups, last_due, plan
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.worker import Worker
from shop.backups.shops import a_shop
from shop.people.conftest import Clock
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]
DAILY = {
    "on": True, "at": dt.time(18, 30), "keep_daily": 2, "keep_weekly": 0, "keep_monthly": 0,
    "folder": "",
}  # fmt: skip


@pytest.fixture
def clock(monkeypatch):
    faked = Clock()
    monkeypatch.setattr(django_timezone, "now", faked)
    return faked


def test_a_backup_of_the_day_is_asked_for_once_when_its_time_has_come(folder, clock):
    owner = somebody()
    actions.change_plan(owner, DAILY)
    BackupPlan.objects.update(asked_at=clock.now)
    assert actions.ask_if_due() is None
    clock.wait(hours=9)
    assert actions.ask_if_due() is None
    clock.wait(hours=1)
    job = actions.ask_if_due()
    assert (job.kind, job.arguments) == ("backup", {"scheduled": True})
    assert actions.ask_if_due() is None
    clock.wait(days=3)  # the shop was closed; what was missed is made up for once
    assert actions.ask_if_due() is not None
    assert actions.ask_if_due() is None


def test_without_a_plan_or_in_a_practice_shop_nothing_is_made(folder, settings):
    assert actions.ask_if_due() is None
    actions.change_plan(somebody(), DAILY)
    settings.PRACTICE = True
    tasks.make_what_is_due()
    assert not Job.objects.exists()
    settings.PRACTICE = False
    tasks.make_what_is_due()
    assert Job.objects.count() == 1


def test_the_last_moment_that_was_due_is_never_ahead(settings):
    settings.TIME_ZONE = "Europe/Berlin"
    now = dt.datetime(2026, 5, 4, 16, 29, tzinfo=dt.UTC)  # 18:29 there
    assert last_due(dt.time(18, 30), now).day == 3
    assert last_due(dt.time(18, 30), now + dt.timedelta(minutes=1)).day == 4


def test_the_schedule_throws_its_own_old_ones_away_and_nobody_elses(folder, clock):
    a_shop()
    actions.change_plan(somebody(), DAILY)
    by_hand = actions.back_up()
    made = []
    for _ in range(4):
        made.append(actions.back_up(scheduled=True))
        clock.wait(days=1)
    others = folder / "daily-2020-01-01-010101.zip"
    others.write_bytes(by_hand.read_bytes())  # it has such a name, and is not the schedule's
    text = folder / "daily-2020-01-01-010102.zip"
    text.write_text("something of somebody's")
    actions.back_up(scheduled=True)
    left = {each.name for each in folder.iterdir()}
    assert {by_hand.name, others.name, text.name} < left
    assert [path.name in left for path in made] == [False, False, False, True]
    assert len([name for name in left if name.startswith("daily-2026")]) == 2


def test_another_shops_backups_in_the_same_folder_stay(folder, clock):
    a_shop()
    actions.change_plan(somebody(), DAILY)
    actions.back_up(scheduled=True)
    BackupPlan.objects.update(mark="another shop")
    for _ in range(4):
        clock.wait(days=1)
        actions.back_up(scheduled=True)
    assert len(lying_in(folder)) == 3


def test_nothing_is_thrown_away_while_the_newest_one_is_not_sound(folder, clock):
    a_shop()
    actions.change_plan(somebody(), DAILY)
    for _ in range(2):
        actions.back_up(scheduled=True)
        clock.wait(days=1)
    last = actions.back_up(scheduled=True)
    BackupPlan.objects.update(keep_daily=1)
    Check.objects.filter(name=last.name).update(fault="a bad byte")
    assert actions.throw_old_away(plan()) == []
    assert len(lying_in(folder)) == 2


def test_a_schedule_that_fails_says_so_until_it_succeeds(folder, settings):
    a_shop()
    (folder.parent / "file").write_text("no folder")
    actions.change_plan(somebody(), {**DAILY, "folder": str(folder.parent / "file" / "x")})
    with pytest.raises(CombwrightError):
        actions.back_up(scheduled=True)
    assert "cannot be written" in plan().fault
    BackupPlan.objects.update(folder="")
    actions.back_up(scheduled=True)
    assert plan().fault == ""


def test_jobs_make_and_check_backups(folder):
    a_shop()
    actions.ask_for_one(somebody())
    worker = Worker()
    assert worker.work_off() == 1
    (shown,) = backups()
    assert shown.check.fault == ""
    assert shown.lying.name in Job.objects.get().result_words
    held = bytearray(shown.lying.path.read_bytes())
    held[100] ^= 1
    shown.lying.path.write_bytes(held)
    actions.ask_for_check(somebody(), shown.lying)
    assert worker.work_off() == 1
    job = Job.objects.latest("pk")
    assert job.state == Job.FAILED
    assert "was changed since it was written" in job.error
    (shown,) = backups()
    assert "was changed" in shown.check.fault


def test_what_is_being_written_is_no_backup_and_is_swept_up_when_it_is_old(folder):
    import os

    a_shop()
    folder.mkdir(parents=True)
    old, young = folder / ".being-written-old", folder / ".being-written-young"
    old.write_text("x")
    young.write_text("x")
    os.utime(old, (1, 1))
    assert backups() == []
    actions.back_up()
    assert not old.exists()
    assert young.exists()
    assert len(backups()) == 1
