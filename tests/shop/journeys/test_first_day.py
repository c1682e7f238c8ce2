"""The first day with a shop of one's own, by clicking."""

import re

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.journey
PASSWORD = "seven brass rivets"
RACK = """bin,pitch,cents,slot_mm,mount,batch,count,cost
A-1,C4,1.5,16.8,front,b1,4,2.20
A-2,{pitch},0,15.2,front,b1,{count},2.20
"""


def fill(page, **fields):
    for label, value in fields.items():
        page.get_by_label(label.replace("_", " "), exact=False).first.fill(value)


@pytest.fixture(scope="module")
def owned(new_shop, browser):
    """The new shop with an owner, who has taken possession of it by the page of the first run."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(new_shop.origin)
    expect(page).to_have_url(re.compile("/people/first/"))
    for box in page.locator("form input:not([type=hidden])").all():
        kind, name = box.get_attribute("type"), box.get_attribute("name")
        box.fill(PASSWORD if kind == "password" else {"name": "ida"}.get(name, "Ida Morrow"))
    page.get_by_role("button").last.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Next")
    context.close()
    return new_shop


@pytest.fixture
def ida(owned, page):
    """The owner, logged in."""
    page.goto(owned.origin)
    page.locator("[name=name]").fill("ida")
    page.locator("[name=password]").fill(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Next")
    return page


def test_a_factory_set_is_received_and_lies_in_twenty_bins(ida):
    ida.get_by_role("link", name="Rack", exact=True).click()
    ida.get_by_role("link", name="Receive a set").click()
    ida.get_by_label("Key").select_option("G")
    ida.get_by_label("Batch").fill("spring")
    ida.get_by_label("How many sets").fill("3")
    ida.get_by_label("Name of the drawer").fill("G-01")
    ida.locator("main form button").last.click()
    expect(ida.locator("[name$=-lost]")).to_have_count(20)
    ida.locator("[name$=-lost]").nth(2).fill("1")
    ida.locator("main form button").last.click()
    expect(ida.get_by_role("heading", level=1)).to_contain_text("set sliced")
    expect(ida.locator("main table tbody tr")).to_have_count(20)
    ida.get_by_role("link", name="Rack", exact=True).click()
    expect(ida.locator("main")).to_contain_text("59 plates in 20 bins")


def test_a_file_with_faults_is_told_all_of_them_and_one_without_is_booked_and_taken_back(ida):
    def send(**cells):
        file = {"name": "rack.csv", "mimeType": "text/csv", "buffer": RACK.format(**cells).encode()}
        ida.get_by_role("link", name="House").click()
        ida.get_by_role("link", name="Files taken in").click()
        ida.locator("input[type=file]").set_input_files(file)
        ida.locator("main form button").first.click()

    send(pitch="Q4", count="-3")
    expect(ida.locator("main")).to_contain_text("row 3, column pitch")
    expect(ida.locator("main")).to_contain_text("row 3, column count")
    send(pitch="E4", count="7")
    expect(ida.locator("main")).to_contain_text("A-2")
    ida.get_by_role("button", name="Book the import").click()
    expect(ida.locator("#messages")).to_contain_text("booked as entry")
    ida.get_by_role("link", name="Take the import back").click()
    ida.get_by_label("Why it is taken back").fill("wrong drawer")
    ida.locator("main form button").click()
    confirm = ida.locator("dialog[open] [value=yes]")
    if confirm.count():
        confirm.click()
    expect(ida.locator("#messages")).to_contain_text("is taken back")


def test_a_packer_is_let_in_by_a_link_and_may_count_but_not_see_people(ida, owned, browser):
    ida.goto(f"{owned.origin}/people/join/")
    ida.locator("[name=name]").fill("tom")
    ida.locator("[name=full_name]").fill("Tom Birch")
    ida.get_by_label("Packer").check()
    ida.locator("main form button").last.click()
    link = re.search(r"http://\S+/people/link/\S+", ida.locator("main").inner_html())[0]
    context = browser.new_context()
    tom = context.new_page()
    tom.goto(link.split('"')[0].split("<")[0].replace("&amp;", "&"))
    for box in tom.locator("input[type=password]").all():
        box.fill("eleven brass rivets")
    tom.locator("main form button").last.click()
    expect(tom.get_by_role("heading", level=1)).to_have_text("Next")
    assert tom.goto(f"{owned.origin}/people/").status == 403
    expect(tom.locator("main")).to_contain_text("Packer, may not let people in")
    context.close()
