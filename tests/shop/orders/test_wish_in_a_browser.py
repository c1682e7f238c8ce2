"""The designer by keyboard in a real browser, in a shop that is served."""

import os
import subprocess
import sys

import pytest
from axe_playwright_python.sync_playwright import Axe

from shop.journeys.served import environment, served

pytestmark = pytest.mark.journey
PASSWORD = "nine brass rivets"
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
SEED = f"""
import django
django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
from combwright.shop.orders.actions import make_order
from combwright.shop.people.models import Person
ada = Person.objects.join("ada", "Ada", "owner", {PASSWORD!r})
print(make_order(ada, {{"number": "W-1"}}, [{{}}]).wishes.get().pk)
"""


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """A shop with one order; gives its page's address."""
    folder = tmp_path_factory.mktemp("designer") / "shop"
    folder.mkdir()
    settings = {
        "COMBWRIGHT_DATA": str(folder),
        "DJANGO_SETTINGS_MODULE": "combwright.shop.settings",
    }
    seeded = subprocess.run(
        [sys.executable, "-c", SEED], env={**environment(), **settings},
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    with served(folder) as opened:
        yield opened.origin, f"/orders/wish/{seeded.stdout.split()[-1]}/"


@pytest.fixture
def page(browser, shop):
    """The designer's page, its owner logged in; it may write no fault and load nothing outside."""
    origin, address = shop
    context = browser.new_context(viewport={"width": 1024, "height": 900})
    opened = context.new_page()
    faults = []
    opened.on("pageerror", lambda error: faults.append(str(error)))
    opened.on(
        "request",
        lambda asked: None if asked.url.startswith(origin) else faults.append(asked.url),
    )
    opened.goto(f"{origin}/people/login/?next={address}")
    opened.fill("[name=name]", "ada")
    opened.fill("[name=password]", PASSWORD)
    opened.click("main form button")
    opened.wait_for_selector("#designer")
    yield opened
    context.close()
    assert faults == []


def focus(page):
    return page.evaluate("document.activeElement.id")


def test_seats_are_walked_by_arrows_and_changed_without_leaving_the_keyboard(page):
    page.focus("#seat-1-upper")
    for key, seat in (
        ("ArrowRight", "2-upper"), ("ArrowDown", "2-lower"), ("End", "10-lower"),
        ("ArrowRight", "10-lower"), ("Home", "1-lower"), ("ArrowUp", "1-upper"),
        ("ArrowUp", "1-upper"), ("ArrowDown", "1-lower"),
    ):  # fmt: skip
        page.keyboard.press(key)
        assert focus(page) == f"seat-{seat}"
    page.keyboard.press("Enter")
    page.wait_for_selector("#seat-1-lower[aria-current]")
    assert focus(page) == "seat-1-lower"
    assert page.url.endswith("?seat=1-lower")
    page.focus("#do-up")
    page.keyboard.press("Enter")
    page.wait_for_selector("#seat-1-lower[aria-label*='D#4']")
    assert focus(page) == "do-up"
    page.wait_for_function("document.getElementById('announced').textContent.includes('D#4')")
    page.fill("#id_note", "H4")
    page.keyboard.press("Enter")
    page.wait_for_selector(".faults")
    assert page.input_value("#id_note") == "H4"
    page.focus("#do-undo")
    page.keyboard.press("Enter")
    page.wait_for_selector("#seat-1-lower[aria-label*='D4']")


def test_tones_are_played_by_buttons_that_are_unseen_without_javascript(page, browser):
    page.evaluate(
        "() => { window.played = [];"
        "const start = OscillatorNode.prototype.start;"
        "OscillatorNode.prototype.start = function (at) {"
        "  window.played.push(this.frequency.value); return start.call(this, at); } }"
    )
    page.click("#chords summary")
    page.click("#chords .hear >> nth=0")
    # C4, E4, G4. Source: docs/sources.md, [midi-tuning].
    assert page.evaluate("window.played") == pytest.approx([261.626, 329.628, 391.995], abs=0.001)
    context = browser.new_context(
        java_script_enabled=False, storage_state=page.context.storage_state()
    )
    bare = context.new_page()
    bare.goto(page.url)
    assert bare.locator(".hear").count() > 50
    assert bare.locator(".hear:visible").count() == 0
    bare.click("#seat-3-lower")
    assert bare.locator("#seat-3-lower").get_attribute("aria-current") == "true"
    context.close()


@pytest.mark.parametrize("width", [360, 1440])
@pytest.mark.parametrize("look", ["light", "dark"])
def test_the_designer_is_accessible_and_fits_every_screen(page, width, look):
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme=look, reduced_motion="reduce")
    page.reload()
    page.evaluate(
        "document.querySelectorAll('#designer details').forEach(each => each.open = true)"
    )
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": WCAG}})
    assert [each["id"] for each in found.response["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    folder = os.environ.get("COMBWRIGHT_PICTURES")
    if folder:
        page.screenshot(path=f"{folder}/designer-{width}-{look}.png", full_page=True)
