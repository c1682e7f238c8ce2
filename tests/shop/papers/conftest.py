import pytest

from combwright.shop.papers.models import LabelSize
from shop.rack.shelves import somebody


@pytest.fixture(autouse=True)
def quick_hashes(settings):
    """Hash quickly: how slowly passwords are hashed is asked of the shop's own settings."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def owner(client):
    client.force_login(somebody("owner"))
    return client


@pytest.fixture
def sheet():
    """Three labels across and eight down, on A4."""
    return LabelSize.objects.create(
        title="a sheet of 24", kind="sheet", paper="A4", width_mm=70, height_mm=37, columns=3,
        rows=8, left_mm=0, top_mm="0.5",
    )  # fmt: skip


@pytest.fixture
def roll():
    return LabelSize.objects.create(title="a tiny roll", kind="roll", width_mm=12, height_mm=12)
