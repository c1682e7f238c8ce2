"""What the jobs' tests begin with: people, workers in threads and in processes, and patience."""

import os
import subprocess
import sys
import time
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from threading import Thread

from django.db import connection, connections
from django.db.models.functions import Now

from cli.commands import COMMAND
from combwright.shop.jobs import actions
from combwright.shop.jobs.models import Job, Regular
from combwright.shop.jobs.registry import kinds
from combwright.shop.jobs.worker import Worker
from combwright.shop.people.models import Person

LEASE = timedelta(seconds=30)
TESTS = Path(__file__).parents[2]


def somebody(role="owner", name=None):
    name = name or role
    known = Person.objects.filter(name=name).first()
    return known or Person.objects.join(name, name.title(), role, None)


def start(kind, person=None, /, **arguments):
    return actions.start(kind, arguments, person)


def take(worker="w", lease=LEASE):
    return actions.take_up(worker, lease, kinds())


def run_out(job):
    """Let a job's lease be over, as when its worker was silent for long."""
    Job.objects.filter(pk=job.pk).update(lease_until=Now() - timedelta(seconds=1))


def now(job):
    return Job.objects.get(pk=job.pk)


def marks(word="mark"):
    """Count what work wrote that should be written once."""
    return Regular.objects.filter(name__startswith=f"{word} ").count()


def until(holds, what="it", seconds=60):
    """Wait until something holds; so long only that a hang is told from a slow machine."""
    end = time.monotonic() + seconds
    while not (value := holds()):
        assert time.monotonic() < end, f"{what} did not come about"
        time.sleep(0.02)
    return value


@contextmanager
def at_work(**options):
    """Have a worker at work in a thread; it is told to leave at the end."""
    worker = Worker(**options)

    def work():
        try:
            worker.work_until_told()
        finally:
            connections.close_all()

    thread = Thread(target=work)
    thread.start()
    try:
        yield worker
    finally:
        worker.leaving.set()
        thread.join(60)
        assert not thread.is_alive()


def surroundings():
    """Return the environment of a process on this test's database."""
    return {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "shop.jobs.apart",
        "COMBWRIGHT_TEST_DATABASE": str(connection.settings_dict["NAME"]),
        "PYTHONPATH": str(TESTS),
    }


@contextmanager
def process(*arguments, command=(COMMAND, "run-jobs"), **options):
    """Run a worker in a process of its own; it is killed at the end if it is still there."""
    child = subprocess.Popen(
        [*command, *arguments], env=surroundings(), text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, **options,
    )  # fmt: skip
    try:
        yield child
    finally:
        child.kill()
        child.communicate()


EMBEDDED = (sys.executable, "-m", "combwright.shop.jobs.embedded")
