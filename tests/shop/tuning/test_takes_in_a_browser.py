"""A take in a real browser: handed in, heard meanwhile, and readable on a phone, light and dark."""

import os
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect, sync_playwright

from combwright.shop.register.models import Take
from shop.bench.days import somebody
from shop.conftest import FLAGS, chromium
from shop.tuning.played import a_take, an_instrument, hear_all, notes_of, playing, wav

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.journey]
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="module")
def browser():
    program = chromium()
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"  # playwright keeps a loop running in this thread
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=program, args=FLAGS)
        yield opened
        opened.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


def opened(browser, live_server, *, width=360, scheme="light"):
    client = Client()
    client.force_login(somebody())
    context = browser.new_context(
        viewport={"width": width, "height": 800}, color_scheme=scheme, base_url=live_server.url,
        reduced_motion="reduce",
    )  # fmt: skip
    context.add_cookies(
        [{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}]
    )
    return context.new_page()


def looks_right(page, name):
    """Say that a page is accessible and fits a phone, light and dark; picture it where asked."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        found = Axe().run(page, options={"runOnly": {"type": "tag", "values": WCAG}})
        assert [each["nodes"][0]["html"] for each in found.response["violations"]] == []
        for width in (360, 1440):
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            if folder := os.environ.get("COMBWRIGHT_PICTURES"):
                path = Path(folder) / f"{name}-{width}-{scheme}.png"
                page.screenshot(path=path, full_page=True)
    return True


def test_a_recording_is_handed_in_and_its_page_renews_itself(browser, live_server, tmp_path):
    one = an_instrument()
    path = tmp_path / "played.wav"
    path.write_bytes(wav(playing(notes_of(one, off=(("4 draw", 6.1), ("9 blow", -11.0))))))
    page = opened(browser, live_server)
    page.goto(reverse("tuning:take-in", args=[one.serial]))
    assert looks_right(page, "takes")
    page.get_by_label("Temperature").fill("21.5")
    page.get_by_label("Recording, WAV or FLAC").set_input_files(path)
    page.get_by_role("button", name="Hand it in").click()
    expect(page.get_by_text("waits for a worker")).to_be_visible()
    hear_all()
    expect(page.get_by_text("9 blow: 11.0 cents low; raise it: file the tip")).to_be_visible()
    assert Take.objects.get().state == Take.HEARD
    page.context.close()


def test_the_page_of_a_take_is_accessible_and_fits_a_phone(browser, live_server):
    one = an_instrument()
    a_take(one, off=(("4 draw", -5.0),))
    off = (("4 draw", 6.1), ("9 blow", -11.0), ("1 blow", 3.1), ("6 draw", 1.5))
    take = a_take(one, off=off, without=("10 blow",))
    page = opened(browser, live_server)
    page.goto(reverse("tuning:take", args=[take.pk]))
    assert looks_right(page, "take")
    page.get_by_role("button", name="Strike this take out").click()
    expect(page.get_by_text("none of its readings counts")).to_be_visible()
    page.get_by_role("button", name="Let it count again").click()
    expect(page.get_by_text("none of its readings counts")).to_be_hidden()
    page.context.close()
