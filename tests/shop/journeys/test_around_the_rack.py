"""Days around the demo's rack, by clicking: counting, samples, labels, a backup, a token."""

import re

import pytest
from playwright.sync_api import expect

from shop.journeys import steps

pytestmark = pytest.mark.journey


@pytest.fixture(scope="module")
def owner(demo, browser):
    with steps.own_page(browser) as opened:
        steps.enter(opened, demo)
        yield opened


def test_a_round_is_counted_blind_its_difference_seen_and_booked(owner, demo):
    steps.start_a_round(owner, demo, bins=2)
    round_page = owner.url
    codes = owner.locator("main table").last.locator("tbody th a").all_inner_texts()
    holds = {}
    for code in codes:
        owner.goto(f"{demo.origin}/rack/bin/{code}/")
        holds[code] = int(re.search(r"\d+", owner.locator("dl.facts dd").first.inner_text())[0])
    owner.goto(round_page)
    owner.get_by_role("link", name="Count the first bin").click()
    first = holds[codes[0]]
    assert not owner.get_by_text(f"holds {first}").count()  # the count is blind
    steps.count_a_bin(owner, first)
    steps.count_a_bin(owner, holds[codes[1]] + 2)
    owner.goto(round_page)
    expect(owner.locator("main")).to_contain_text("+2")
    steps.main_button(owner, "Book what was found").click()
    expect(owner.locator("main")).to_contain_text("Booked by")
    owner.goto(f"{demo.origin}/rack/bin/{codes[1]}/")
    expect(owner.locator("main")).to_contain_text(f"{holds[codes[1]] + 2}")
    expect(owner.locator("main")).to_contain_text("counted")


def test_a_sample_is_drawn_and_a_bad_one_holds_the_batch(owner, demo):
    owner.goto(f"{demo.origin}/rack/batches/")
    batch = owner.locator("main table tbody th a").first.inner_text()
    steps.draw_a_sample(owner, demo, batch)
    for _plate in range(40):
        if not owner.get_by_role("button", name="Broken").count():
            break
        owner.get_by_role("button", name="Broken").first.click()
    owner.goto(f"{demo.origin}/rack/batches/{batch}/")
    expect(owner.get_by_role("heading", level=1)).to_contain_text("held")


def test_labels_of_bins_come_as_a_pdf(owner, demo):
    owner.goto(f"{demo.origin}/papers/labels/")
    steps.main_button(owner, "Show the labels").click()
    with owner.expect_download() as got:
        steps.main_button(owner, "Get the labels as PDF").click()
    assert got.value.path().read_bytes().startswith(b"%PDF")


def test_a_backup_is_made_while_the_page_shows_how_far_it_is(owner, demo):
    steps.back_up(owner, demo)
    owner.goto(f"{demo.origin}/backups/")
    expect(owner.locator("main table tbody tr").first).to_be_visible()


def test_a_token_is_shown_once(owner, demo):
    steps.make_a_token(owner, demo)
    owner.goto(f"{demo.origin}/api/tokens/")
    expect(owner.locator("main")).to_contain_text("web shop")
