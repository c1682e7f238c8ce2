import pytest


@pytest.fixture(autouse=True)
def quick_hashes(settings):
    """Hash quickly: how slowly passwords are hashed is asked where people are tested."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
