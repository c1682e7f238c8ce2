"""What people do in the demo's shop, by clicking, wherever they stand before."""

import re

from playwright.sync_api import expect

PASSWORD = "seven brass rivets"


def main_button(page, name=None):
    """Return the button of a name in the page's own part, or its last one."""
    return (
        page.locator("main").get_by_role("button", name=name) if name else main_buttons(page).last
    )


def main_buttons(page):
    return page.locator("main form button")


def enter(page, shop, name="demo-owner"):
    """Come in by the link of the command, and choose a password where it asks for one."""
    page.goto(shop.link_for(name))
    for box in page.locator("input[type=password]").all():
        box.fill(PASSWORD)
    main_buttons(page).last.click()
    expect(page.locator("nav.ways")).to_be_visible()


def start_a_round(page, shop, bins):
    page.goto(f"{shop.origin}/counting/")
    page.get_by_label("How many bins").fill(str(bins))
    main_button(page, "Start a round").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Counting round")


def count_a_bin(page, found):
    """Type how many plates lie in the bin that is shown; agree to it if it differs."""
    page.locator("main input[inputmode=numeric]").first.fill(str(found))
    main_buttons(page).first.click()


def draw_a_sample(page, shop, batch):
    page.goto(f"{shop.origin}/arrivals/measure/{batch}/")
    main_button(page, "Show the plan").click()
    main_button(page, "Draw the sample").click()
    expect(page).to_have_url(re.compile(r"/arrivals/\d+/"))


def make_a_token(page, shop):
    page.goto(f"{shop.origin}/api/tokens/")
    page.get_by_role("link", name="Make a token").click()
    page.get_by_label("Program").fill("web shop")
    page.locator("input[type=checkbox]").first.check()
    main_button(page, "Make the token").click()
    expect(page.locator("main")).to_contain_text("cw_")


def back_up(page, shop):
    """Press the button, and wait until the job is done."""
    page.goto(f"{shop.origin}/backups/")
    main_button(page, "Back up now").click()
    expect(page.locator("main")).to_contain_text("checked and proved", timeout=60_000)
