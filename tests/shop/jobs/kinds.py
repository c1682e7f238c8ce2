"""Kinds of work for the tests; each shows one way in which work can go."""

import os
import time
from datetime import timedelta
from pathlib import Path

from django.db import OperationalError

from combwright.errors import CombwrightError
from combwright.shop.jobs.models import Regular
from combwright.shop.jobs.registry import job
from combwright.shop.jobs.regular import regular

#: What was done, by those kinds that run in the tests' own process.
DONE = []


def write_line(path, text):
    """Add a line to a file in one stroke, whoever else does so too."""
    handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    os.write(handle, f"{text}\n".encode())
    os.close(handle)


@job("note", title="Noting")
def note(run, *, what):
    DONE.append(what)
    return {"words": f"noted {what}", "address": "/rack/"}


@job("write", title="Writing")
def write(run, *, path, text):
    write_line(path, text)


@job("steps", title="Counting")
def steps(run, *, steps, pause=0.0):
    for step in range(steps):
        run.progress(step, steps, f"step {step}")
        time.sleep(pause)
    return steps


@job("hold", title="Holding on")
def hold(run, *, begun, go):
    """Say in one file that it has begun, then wait for another."""
    write_line(begun, f"{run.job.pk} {os.getpid()}")
    while not Path(go).exists():
        run.progress(1, 2, "holding on")
        time.sleep(0.01)
    with run.closing() as result:
        Regular.objects.create(name=f"mark {run.job.pk}")
        result["words"] = "let go"


@job("deaf", title="Deaf work")
def deaf(run, *, begun, go):
    """Wait for a file, and never ask whether to stop."""
    write_line(begun, f"{run.job.pk} {os.getpid()}")
    while not Path(go).exists():
        time.sleep(0.01)
    return "done all the same"


@job("follow", title="Following a file")
def follow(run, *, path):
    """Be as far as a file says, of ten."""
    while (step := int(Path(path).read_text() or 0)) < 10:
        run.progress(step, 10, f"tray {step} of 10")
        time.sleep(0.02)
    return {"words": "all trays are filled", "address": "/rack/"}


@job("refuse", title="Refusing")
def refuse(run, *, text):
    raise CombwrightError(text)


@job("blunder", title="Blundering")
def blunder(run):
    raise ZeroDivisionError("nine brass rivets")


@job("swallow", title="Swallowing")
def swallow(run):
    """Catch everything that goes wrong, as careless work does."""
    while True:
        try:
            run.check()
            time.sleep(0.01)
        except Exception:
            continue


@job("give", title="Giving")
def give(run, *, what):
    return {"object": object(), "nan": float("nan"), "zero": "a\0b"}[what]


@job("busy", title="Meeting a busy database")
def busy(run):
    raise OperationalError("the database is locked")


@regular(every=timedelta(days=1))
def every_day():
    Regular.objects.create(name=f"day {time.monotonic_ns()} {os.getpid()}")
