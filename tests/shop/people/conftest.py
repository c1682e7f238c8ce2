from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone as django_timezone


@pytest.fixture(autouse=True)
def quick_hashes(settings):
    """Hash quickly: how slowly passwords are hashed is asked of the shop's own settings."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


class Clock:
    """A clock that stands still until it is moved on."""

    def __init__(self):
        self.now = datetime(2026, 5, 4, 9, 12, tzinfo=UTC)

    def __call__(self):
        return self.now

    def wait(self, **long):
        self.now += timedelta(**long)


@pytest.fixture
def clock(monkeypatch):
    faked = Clock()
    monkeypatch.setattr(django_timezone, "now", faked)
    return faked
