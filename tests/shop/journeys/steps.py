"""What people do in the demo's shop, by clicking, wherever they stand before."""

import re
from contextlib import contextmanager

from playwright.sync_api import expect

PASSWORD = "seven brass rivets"
#: How long a page may take on a busy machine.
PATIENCE_MS = 20_000


@contextmanager
def own_page(browser, **options):
    """Open a page in a browser of its own; what its console says is wrong fails at the end."""
    usual = {"viewport": {"width": 1024, "height": 900}, "reduced_motion": "reduce"}
    context = browser.new_context(**usual, **options)
    opened = context.new_page()
    opened.set_default_timeout(PATIENCE_MS)
    faults = []
    opened.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    opened.on("pageerror", lambda error: faults.append(str(error)))
    yield opened
    context.close()
    # A form that was not accepted, or a page that one may not see, is no fault.
    told = [each for each in faults if "status of 4" not in each]
    assert told == []


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


def let_in(owner, shop, newcomer, name, full_name, role):
    """Have the owner make a link, and the newcomer come in by it with a password of their own."""
    owner.goto(f"{shop.origin}/people/join/")
    owner.locator("[name=full_name]").fill(full_name)
    owner.locator("[name=name]").fill(name)
    owner.get_by_label(role).check()
    main_button(owner, "Make the link").click()
    newcomer.goto(owner.locator("main code").inner_text())
    for box in newcomer.locator("input[type=password]").all():
        box.fill(PASSWORD)
    main_buttons(newcomer).last.click()
    expect(newcomer.get_by_role("heading", level=1)).to_have_text("Next")


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


def make_a_token(page, shop, may=""):
    """Make a token that may do what is named, or the first thing there is; return it."""
    page.goto(f"{shop.origin}/api/tokens/")
    page.get_by_role("link", name="Make a token").click()
    page.get_by_label("Program").fill("web shop")
    page.get_by_role("checkbox", name=may or None).first.check()
    main_button(page, "Make the token").click()
    expect(page.locator("main")).to_contain_text("cw_")
    return page.locator("main pre").inner_text().strip()


def tell_a_program(page, shop):
    """Have a program be told of orders; it stays silent, since nothing comes to pass here."""
    page.goto(f"{shop.origin}/api/hooks/")
    page.get_by_role("link", name="Tell a program").click()
    page.get_by_label("Address").fill("http://127.0.0.1:9/orders")
    page.get_by_label("It is inside our network").check()
    main_button(page, "Tell it from now on").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("The secret for 127.0.0.1")


def back_up(page, shop):
    """Press the button, and wait until the job is done."""
    page.goto(f"{shop.origin}/backups/")
    main_button(page, "Back up now").click()
    expect(page.locator("main")).to_contain_text("checked and proved", timeout=60_000)


def rank_layouts(page, shop):
    """Rank the layouts for the first repertoire, and make a wish of the first of them."""
    page.goto(f"{shop.origin}/tunes/")
    page.locator("main tbody th a").first.click()
    page.locator("main").get_by_role("link", name="Which layout suits").click()
    main_button(page, "Rank").click()
    row = page.locator("main").get_by_role("button", name="Make a wish").first
    expect(row).to_be_visible(timeout=120_000)  # what ranks may have to be compiled first
    answer = page.url
    row.click()
    page.wait_for_url(re.compile("/orders/wish/"))
    page.goto(answer)
