"""The shop's tests keep their data in a folder of their own, set before Django looks for it."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

# Machines are shared: how long an example takes is no finding.
settings.register_profile("shared", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("shared")

_DATA = tempfile.mkdtemp(prefix="combwright-tests-")
atexit.register(shutil.rmtree, _DATA, ignore_errors=True)
os.environ["COMBWRIGHT_DATA"] = _DATA
# Tests ask faster than people; the limit has tests of its own.
os.environ["COMBWRIGHT_MOST_A_SECOND"] = "0"
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "combwright.shop.settings")


def pytest_configure():
    """Lift the limit where Django read its settings before this file: a part of the tests alone."""
    from django.conf import settings

    settings.MOST_A_SECOND = 0


def pytest_collection_modifyitems(items):
    """Let the longest begin first, so that no worker is left alone with them at the end."""
    items.sort(key=lambda item: "journeys" not in item.nodeid)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_xdist_suffix):
    """Keep SQLite's test database in a file: threads cannot share one that is in memory."""
    from django.conf import settings
    from django.db import connections

    if settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        worker = os.environ.get("PYTEST_XDIST_WORKER", "alone")
        path = str(Path(_DATA) / f"test-{worker}.sqlite3")
        connections.settings["default"]["TEST"]["NAME"] = path
