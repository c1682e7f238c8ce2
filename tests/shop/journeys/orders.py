"""What people do with orders in the demo's shop, by clicking: from a wish to a parcel."""

import json
import re
import time
import urllib.request
from contextlib import suppress

from playwright.sync_api import TimeoutError, expect

from shop.journeys.steps import main_button

#: The plan of the demo's orders takes some seconds, more where others use the machine.
PLANNING_MS = 90_000
#: Earlier than every order of the demo, so that it stands first wherever it waits.
LONG_DUE = "2026-01-05"


def go(page, shop, *ways):
    """Go from the first page through links of these names."""
    page.goto(shop.origin)
    for name in ways:
        page.get_by_role("link", name=name, exact=True).first.click()


def write_a_customer_down(page, shop, name, email):
    go(page, shop, "Orders", "Customers", "Write a customer down")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Email").fill(email)
    main_button(page, "Save").click()
    expect(page.locator("#messages")).to_contain_text("written down")


def make_an_order(page):
    """From a customer's page, make an order that is due and promised; design it on the comb."""
    page.get_by_role("link", name="Make an order").click()
    page.get_by_label("Due").fill(LONG_DUE)
    page.get_by_label("Promised").check()
    main_button(page, "Make it without a row, and design it on the comb").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Design the instrument")
    return page.locator("nav.trail a").last.inner_text()


def choose_seat(page, seat):
    """Press a seat of the drawn comb, such as `5 lower`."""
    page.locator("#designer").get_by_role("link", name=re.compile(f"^{seat}:")).click()
    expect(page.locator("#seat-head")).to_have_text(f"Seat {seat}")


def set_note(page, seat, note):
    choose_seat(page, seat)
    page.get_by_label("Note", exact=True).fill(note)
    page.get_by_role("button", name="Set the note").click()
    expect(page.locator("#seat-head + p")).to_contain_text(f"{seat}: {note}, ")


def start_from(page, layout, key):
    """Fill every seat from a layout in a key."""
    page.get_by_text("Start from a layout").click()
    begin = page.locator("#begin")
    begin.get_by_label("Layout").fill(layout)
    begin.get_by_label("Key").fill(key)
    begin.get_by_role("button", name="Start from it").click()
    expect(page.locator("#designer .lead")).to_contain_text(key)


def add_to_the_order(page):
    page.get_by_role("button", name="Add to the order").click()
    expect(page.get_by_role("status").first).to_contain_text("saved")


def open_for_planning(page, number):
    """From the designer, go to the order and let plans count on it."""
    page.get_by_role("link", name="To the order").click()
    main_button(page, "Open it for planning").click()
    expect(page.locator("#messages")).to_contain_text(number)


def plan(page):
    """From the plans' page, have all orders planned; look on until it is done; see the plan."""
    main_button(page, "Plan").click()
    expect(page).to_have_url(re.compile(r"/jobs/\d+/"))
    page.get_by_role("link", name="See the result").click(timeout=PLANNING_MS)
    expect(page).to_have_url(re.compile(r"/plans/\d+/"))


def look_on(page):
    """Without JavaScript, press again and again until a plan is made; see the plan."""
    again = page.get_by_role("link", name="Look again")
    result = page.get_by_role("link", name="See the result")
    until = time.monotonic() + PLANNING_MS / 1000
    while time.monotonic() < until:
        expect(again.or_(result)).to_be_visible()
        if result.is_visible():
            break
        page.wait_for_timeout(500)  # the time it takes to press again
        again.click()
    result.click()


def set_aside(page, number):
    """From a plan's page, set plates aside for one of its orders."""
    page.get_by_role("link", name="Choose orders").click()
    page.get_by_label(f"Set aside for {number}", exact=True).check()
    main_button(page, "Set aside for the ticked orders").click()
    expect(page.locator("#messages")).to_contain_text("1 order")


def begin_to_pick(page, shop, number):
    """From the bench's list, begin to pick an order; the walk is then shown."""
    page.goto(f"{shop.origin}/bench/?state=aside")
    page.get_by_label(number, exact=True).check()
    pick_those_ticked(page, number)


def pick_those_ticked(page, number):
    main_button(page, "Pick those ticked").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(f"Walk for order {number}")


def ticks(page, *, picked=False):
    """The places of the walk that are picked or not."""
    return page.locator(f".pluck[aria-pressed={str(picked).lower()}]")


def pick_all(page, plates):
    """Tick the plates that are left on the walk, and wait until the shop has heard of all."""
    for left in range(plates, 0, -1):
        # With JavaScript a tick changes its own row, without it the whole page comes anew.
        expect(ticks(page)).to_have_count(left)
        ticks(page).first.click()
    expect(ticks(page)).to_have_count(0)
    expect(page.locator("[data-queue]")).to_be_hidden()


def to_the_bench(page, number):
    main_button(page, "To the bench").click()
    expect(page.locator("#messages")).to_contain_text(f"Order {number} is on the bench")


def seat_all(page, plates):
    """Seat plate after plate, in the order that the bench gives."""
    for done in range(plates):
        expect(page.get_by_label(f"{done} of {plates} seated")).to_be_visible()
        main_button(page, "Seated").click()
    expect(page.locator("#seat")).to_contain_text("Every seat has its plate")


def finish(page):
    """End an order's building from the last seat's page."""
    page.get_by_role("link", name="To the steps that end it").click()
    main_button(page, "All is built").click()
    expect(page.locator("#messages")).to_contain_text("is built; it can be sent")


def not_there(page, place):
    """On the walk, say that the plate of a place is not in its bin, and agree that it is booked."""
    missing = place.locator("xpath=ancestor::li").get_by_role("button", name="Not there")
    agree = page.locator("dialog[open] [value=yes]")
    for _again in range(10):
        missing.click()
        # A tick that is still on its way holds it back; the page says to do it again then.
        with suppress(TimeoutError):
            agree.wait_for(timeout=2_000)
            break
    agree.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Another plate for")


def lack_a_plate(page, shop):
    """On the walk of an order that is being picked, miss a plate, and choose none in its place."""
    page.goto(f"{shop.origin}/bench/?state=picking")
    page.get_by_role("link", name="Walk", exact=True).first.click()
    expect(page.locator("#walk")).to_be_visible()
    not_there(page, ticks(page).first)


def link_for_the_customer(page, shop, number):
    """Make a link that shows an order to its customer; return where it leads in the shop."""
    page.goto(f"{shop.origin}/orders/share/{number}/")
    main_button(page, "Make a link").click()
    return page.get_by_label("The customer's link").input_value().removeprefix(shop.origin)


def send(page, number, tracking):
    """On an order's page of papers, send it."""
    expect(page.get_by_role("heading", level=1)).to_contain_text(f"Send order {number}")
    page.get_by_label("Tracking note").fill(tracking)
    main_button(page, "It is sent").click()
    expect(page.locator("#messages")).to_contain_text(f"Order {number} is sent")


def state_of(page, shop, number):
    """Return the page of an order as the list of orders leads to it."""
    page.goto(f"{shop.origin}/orders/{number}/")
    return page.locator(".page-head")


def steps_of(page):
    """Return an order's timeline, the newest step first, from its page."""
    return page.locator(".steps-of-order li")


def first_to_pick(page, shop):
    """Return the number of the first order that is ready to be picked."""
    page.goto(f"{shop.origin}/bench/?state=aside")
    return page.locator("main tbody th").first.inner_text().strip()


def bin_says(page, shop, code):
    """Return how many plates a bin's page says that it holds, and how many are set aside."""
    page.goto(f"{shop.origin}/rack/bin/{code}/")
    plates = page.locator("dl.facts dd").first.inner_text()
    return [*map(int, re.findall(r"\d+", plates)), 0][:2]


def sent_in(shop, token, key, order):
    """Send an order in as a web shop does; return the answer's status and what it says."""
    asked = urllib.request.Request(
        f"{shop.origin}/api/v1/orders",
        data=json.dumps(order).encode(),
        headers={
            "Authorization": f"Bearer {token}",
            "Content-Type": "application/json",
            "Idempotency-Key": key,
        },
    )
    with urllib.request.urlopen(asked, timeout=20) as answer:
        return answer.status, json.load(answer)
