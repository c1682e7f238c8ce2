"""A job watched and stopped in a real browser, in a shop that is served with its own worker."""

import os
import re
import signal
import socket
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest
from axe_playwright_python.sync_playwright import Axe

from cli.commands import COMMAND
from shop.jobs.hands import TESTS, until

pytestmark = pytest.mark.journey
WIDTHS = (360, 1440)


def surroundings(folder):
    plain = {k: v for k, v in os.environ.items() if k != "COMBWRIGHT_DATABASE"}
    return {
        **plain,
        "COMBWRIGHT_DATA": str(folder),
        "COMBWRIGHT_TEST_DATABASE": str(folder / "shop.sqlite3"),
        "DJANGO_SETTINGS_MODULE": "shop.jobs.apart",
        "PYTHONPATH": str(TESTS),
    }


def answers(origin):
    try:
        with urlopen(f"{origin}/people/login/", timeout=5):
            return True
    except (URLError, OSError):
        return False


@contextmanager
def served(folder):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with (folder / "log").open("w") as log:
        shop = subprocess.Popen(
            [COMMAND, "serve", "--port", str(port)], env=surroundings(folder),
            stdout=log, stderr=log,
        )  # fmt: skip
        try:
            origin = f"http://127.0.0.1:{port}"
            until(lambda: answers(origin), "the shop")
            yield origin
        finally:
            shop.send_signal(signal.SIGTERM)
            shop.wait(60)


class Shop:
    def __init__(self, origin, link, tray, context):
        self.origin, self.link, self.tray, self.context = origin, link, tray, context

    def page(self, address, **options):
        page = self.context.new_page()
        page.goto(self.origin + address)
        return page


@pytest.fixture(scope="module")
def shop(tmp_path_factory, browser):
    folder = tmp_path_factory.mktemp("shop")
    tray = folder / "tray"
    tray.write_text("3")
    told = subprocess.run(
        [sys.executable, "-m", "shop.jobs.seeding", str(tray)], env=surroundings(folder),
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    with served(folder) as origin:
        context = browser.new_context(reduced_motion="reduce")
        page = context.new_page()
        page.goto(origin + told.stdout)
        with page.expect_navigation():
            page.locator("main form button").click()
        yield Shop(origin, told.stdout, tray, context)
        context.close()


def pictured(page, name):
    """Keep pictures where COMBWRIGHT_PICTURES names a folder."""
    folder = os.environ.get("COMBWRIGHT_PICTURES")
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 800})
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            found = Axe().run(page).response["violations"]
            assert [(each["id"], each["nodes"][0]["html"]) for each in found] == []
            if folder:
                path = Path(folder) / f"jobs-{name}-{width}-{scheme}.png"
                page.screenshot(path=path, full_page=True)
        assert page.evaluate("document.documentElement.scrollWidth") == width


def test_every_page_of_jobs_is_accessible_and_fits_a_phone(shop):
    page = shop.page("/jobs/")
    pictured(page, "list")
    for number in range(1, 5):
        page.goto(f"{shop.origin}/jobs/{number}/")
        pictured(page, str(number))


def bar(page, value):
    page.locator(f"progress[value='{value}']").wait_for(timeout=60_000)


def test_how_far_a_job_is_is_seen_without_looking_again_and_it_stops_when_asked(shop):
    complaints = []
    page = shop.page("/jobs/5/")
    page.on("console", lambda said: complaints.append(said.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    bar(page, 3)
    page.evaluate("window.same = true")
    shop.tray.write_text("7")
    bar(page, 7)
    assert "tray 7 of 10" in page.locator("#job").inner_text()
    assert page.evaluate("window.same")
    pictured(page, "running")
    page.get_by_role("button", name="Stop the job").click()
    page.get_by_text("Ida Morrow had it stopped").wait_for(timeout=60_000)
    assert page.locator("progress").count() == 0
    assert re.search(r"stopped · Combwright$", page.title())
    assert complaints == []


def test_without_scripts_one_looks_again(shop, browser):
    plain = browser.new_context(
        reduced_motion="reduce",
        java_script_enabled=False,
        storage_state=shop.context.storage_state(),
    )
    page = plain.new_page()
    page.goto(f"{shop.origin}/jobs/4/")
    assert (
        page.get_by_text("It waits for a worker").or_(page.get_by_text("No worker takes")).count()
    )
    page.get_by_role("link", name="Look again").click()
    page.get_by_role("button", name="Stop the job").click()
    page.wait_for_load_state()
    assert page.get_by_text("Job 4 is stopped.").is_visible()
    plain.close()
