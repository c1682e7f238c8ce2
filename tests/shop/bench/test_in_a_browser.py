"""The walk in a real browser: ticks outlive a lost connection and a page opened anew."""

import os

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect, sync_playwright

from combwright.shop.bench import building, picking
from combwright.shop.plans.models import Taken
from shop.bench.days import (
    a_set,
    an_order,
    being_picked,
    built,
    on_the_bench,
    plate_of,
    set_aside,
    sound,
)
from shop.conftest import FLAGS, chromium
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.journey]


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
    """Open a page as the owner, who is logged in."""
    client = Client()
    client.force_login(somebody())
    context = browser.new_context(
        viewport={"width": width, "height": 800}, color_scheme=scheme, base_url=live_server.url,
        has_touch=True, reduced_motion="reduce",
    )  # fmt: skip
    context.add_cookies(
        [{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}]
    )
    return context.new_page()


def walk_of(*orders):
    return reverse("bench:walk") + "?orders=" + ",".join(str(each.pk) for each in orders)


def picked():
    return Taken.objects.filter(state=Taken.PICKED).count()


def test_ticks_are_kept_while_the_connection_is_lost_and_sent_when_it_is_back(browser, live_server):
    a_set("C", 1)
    page = opened(browser, live_server)
    page.goto(walk_of(being_picked()))
    ticks = page.locator("[data-tick]")
    with page.expect_response("**/pick/"):
        ticks.nth(0).click()
    expect(page.locator("[data-queue]")).to_be_hidden()
    assert picked() == 1
    page.context.set_offline(True)
    for n in (1, 2, 3, 2):
        ticks.nth(n).click()
    expect(page.locator("[data-done]")).to_have_text("3")
    expect(page.locator("[data-queue]")).to_contain_text("4 not sent yet")
    assert picked() == 1
    page.get_by_role("button", name="To the bench").click()
    expect(page.locator("[data-queue]")).to_contain_text("not sent yet")
    page.context.set_offline(False)
    page.reload()
    expect(page.locator("[data-queue]")).to_be_hidden(timeout=15_000)
    expect(page.locator("[data-done]")).to_have_text("3")
    assert [t.get_attribute("aria-pressed") for t in ticks.all()[:4]] == [
        "true", "true", "false", "true",
    ]  # fmt: skip
    assert picked() == 3
    assert sound()
    page.context.close()


def test_an_answer_that_is_lost_does_not_pick_a_plate_twice(browser, live_server):
    a_set("C", 2)
    page = opened(browser, live_server)
    page.goto(walk_of(being_picked()))
    lost = []

    def lose(route):
        if not lost:
            lost.append(route.fetch())  # the shop has done it, and the phone never hears of it
            route.abort()
        else:
            route.continue_()

    page.route("**/pick/", lose)
    with page.expect_event("requestfailed"):
        page.locator("[data-tick]").first.click()
    expect(page.locator("[data-queue]")).to_be_hidden(timeout=15_000)
    assert lost[0].status == 200
    assert picked() == 1
    assert sound()
    page.context.close()


def test_a_tick_that_the_shop_refuses_stops_the_sending_and_says_why(browser, live_server):
    a_set("C", 1)
    order = being_picked()
    page = opened(browser, live_server)
    page.goto(walk_of(order))
    picking.put_order_back(somebody(), order)
    ticks = page.locator("[data-tick]")
    ticks.nth(0).click()
    ticks.nth(1).click()
    expect(page.locator("[data-why]")).to_contain_text("Order W-1 is open")
    for _tick in range(2):
        page.get_by_role("button", name="Leave that tick out").click()
    expect(page.locator("[data-stop]")).to_be_hidden()
    expect(page.locator("[data-done]")).to_have_text("0")
    assert picked() == 0
    assert sound()
    page.context.close()


def test_a_scanned_bin_ticks_its_next_plate_also_without_a_connection(browser, live_server):
    a_set("C", 1)
    page = opened(browser, live_server)
    page.goto(walk_of(being_picked()))
    page.context.set_offline(True)
    field = page.get_by_label("Scan a bin or a plate")
    field.fill("http://shop.lan/papers/s/b/b1-C-5d")
    field.press("Enter")
    expect(page.locator('[data-bin="b1-C-5d"] [data-tick]')).to_have_attribute(
        "aria-pressed", "true"
    )
    expect(field).to_have_value("")
    with page.expect_response("**/pick/"):
        page.context.set_offline(False)
    expect(page.locator("[data-queue]")).to_be_hidden(timeout=15_000)
    assert plate_of(Taken.objects.first().order, "5 lower draw").state == Taken.PICKED
    page.context.close()


def a_days_pages():
    """Prepare orders in every state; return the pages of the bench and the register."""
    a_set("C", 8, cents=-12)
    done, bench = built("W-3", kit="5 draw"), on_the_bench("W-4", kit="4 draw")
    building.fit(somebody(), plate_of(bench, "1 upper blow"))
    walked = being_picked("W-2", quantity=2)
    gone = picking.not_there(somebody(), plate_of_first(walked, "5 lower draw"))
    set_aside(an_order("W-1"))
    serial = done.instruments.get().serial
    return {
        "list": reverse("bench:list") + "?state=aside",
        "walk": walk_of(walked),
        "instead": reverse("bench:instead", args=[gone.pk]),
        "put-back": reverse("bench:put-back", args=[walked.pk]),
        "build": reverse("bench:build", args=[bench.pk]),
        "seat": reverse("bench:seat", args=[bench.pk, 1, 1]),
        "filed": reverse("bench:filed", args=[plate_of(bench, "1 upper blow").pk]),
        "send": reverse("bench:send", args=[done.pk]),
        "cancel": reverse("bench:cancel", args=[bench.pk]),
        "register": reverse("register:list"),
        "instrument": reverse("register:one", args=[serial]),
        "batch": reverse("register:batch", args=["b1"]),
    }


def plate_of_first(order, place):
    return Taken.objects.filter(order=order, place=place).order_by("pk").first()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_page_is_sound_to_axe_and_fits_a_phone(browser, live_server, scheme):
    pages = a_days_pages()
    for width in (360, 1440):
        page = opened(browser, live_server, width=width, scheme=scheme)
        for name, where in pages.items():
            page.goto(where)
            shots = os.environ.get("COMBWRIGHT_SHOTS")
            if shots:
                page.screenshot(path=f"{shots}/{name}-{width}-{scheme}.png", full_page=True)
            found = Axe().run(page)
            assert found.response["violations"] == [], (name, width, found.generate_report())
            wide = page.evaluate("document.documentElement.scrollWidth")
            assert wide <= width, (name, width, wide)
        page.context.close()


def test_ticks_are_large_enough_for_gloves(browser, live_server):
    a_set("C", 1)
    page = opened(browser, live_server)
    page.goto(walk_of(being_picked()))
    for tick in page.locator("#walk button:visible").all():
        assert tick.bounding_box()["height"] >= 48
    page.context.close()
