import pytest

from shop.look.shown import ADDRESSES, MIDDLEWARE


@pytest.fixture(autouse=True)
def shop_of_stubs(settings):
    settings.ROOT_URLCONF = ADDRESSES
    settings.MIDDLEWARE = MIDDLEWARE
    settings.ALLOWED_HOSTS = ["testserver", "shop.localhost"]
