import os
import shutil

import pytest
from playwright.sync_api import sync_playwright

from shop.look.shown import ADDRESSES, MIDDLEWARE

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]


@pytest.fixture(autouse=True)
def shop_of_stubs(settings):
    settings.ROOT_URLCONF = ADDRESSES
    settings.MIDDLEWARE = MIDDLEWARE
    settings.ALLOWED_HOSTS = ["testserver", "shop.localhost"]


@pytest.fixture(scope="session")
def browser():
    program = shutil.which("chromium")
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("Chromium is not installed; in CI no browser test is skipped.")
        pytest.skip("Chromium is not installed: the browser tests were not run.")
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=program, args=FLAGS)
        yield opened
        opened.close()
