import signal

import pytest

from shop.jobs.kinds import DONE


@pytest.fixture(autouse=True)
def kinds_of_the_tests(settings):
    settings.JOB_MODULES = ["combwright.shop.jobs.tidying", "shop.jobs.kinds"]
    DONE.clear()


@pytest.fixture
def interrupts_reach_children():
    """A test run in the background may ignore SIGINT, which a child would inherit."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)
