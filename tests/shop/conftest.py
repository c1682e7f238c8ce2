import os
import shutil

import pytest
from playwright.sync_api import sync_playwright

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]


def chromium():
    """Return the browser's program; in CI it must be there, elsewhere its tests are left out."""
    program = shutil.which("chromium")
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("Chromium is not installed; in CI no browser test is skipped.")
        pytest.skip("Chromium is not installed: the browser tests were not run.")
    return program


@pytest.fixture(scope="module")
def browser():
    """A browser for one module's tests: while it is open, Django's database cannot be used here."""
    program = chromium()
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=program, args=FLAGS)
        yield opened
        opened.close()
