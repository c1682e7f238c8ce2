"""Hands that pick, build and cancel at once, each in a thread with a connection of its own."""

from concurrent.futures import ThreadPoolExecutor

from django.db import connections

from combwright.errors import CombwrightError


def at_once(*works):
    """Do some things at the same time; return what each gave, or the sentence that refused it."""

    def one(work):
        try:
            return work()
        except CombwrightError as error:
            return str(error)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(works)) as pool:
        return list(pool.map(one, works))


def each_of(act, things):
    """Return work that does one thing after another, whatever is refused of it."""

    def work():
        refused = 0
        for each in things:
            try:
                act(each)
            except CombwrightError:
                refused += 1
        return refused

    return work
