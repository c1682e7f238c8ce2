import pytest


@pytest.fixture(autouse=True)
def quick_hashes(settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def folder(tmp_path, settings):
    """A data folder of this test's own."""
    settings.DATA_FOLDER = tmp_path
    return tmp_path / "backups"
