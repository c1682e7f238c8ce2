"""Orders in the demo's shop, by clicking: a whole day of three people, and what is rarer."""

import io
import re
from datetime import date

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader

from shop.journeys import orders, steps

pytestmark = pytest.mark.journey
PARCEL = "parcel 77-1041, with the evening van"
#: An instrument of the demo that waits for plates.
WAITING = "W-102"


def next_of(page, shop, section):
    """Return a section of somebody's page of what is next."""
    page.goto(shop.origin)
    expect(page.get_by_role("heading", level=1)).to_have_text("Next")
    return page.locator(f"#{section}")


def downloaded(page, link):
    with page.expect_download() as got:
        link.click()
    return got.value.path().read_bytes()


def text_of(pdf):
    assert pdf.startswith(b"%PDF")
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def test_a_wish_becomes_a_shipped_instrument_through_three_pairs_of_hands(staff):
    shop, office, maker, packer = staff.shop, staff.office, staff.maker, staff.packer
    number = wished(shop, office)
    expect(next_of(office, shop, "danger")).to_contain_text(number)
    expect(next_of(maker, shop, "danger")).to_contain_text(number)
    expect(next_of(packer, shop, "pick")).not_to_contain_text(number)

    maker.get_by_role("link", name="Plan the open orders").first.click()
    orders.plan(maker)
    orders.set_aside(maker, number)
    expect(next_of(office, shop, "danger")).not_to_contain_text(number)

    expect(next_of(packer, shop, "pick")).to_contain_text(number)
    packer.get_by_role("link", name=f"Begin to pick order {number}").first.click()
    expect(packer.get_by_label(number, exact=True)).to_be_checked()
    orders.pick_those_ticked(packer, number)
    orders.pick_all(packer, 20)
    orders.to_the_bench(packer, number)

    serial = built(shop, maker, number)
    expect(next_of(maker, shop, "bench")).not_to_contain_text(number)
    expect(next_of(office, shop, "send")).to_contain_text(number)

    expect(next_of(packer, shop, "send")).to_contain_text(number)
    packer.get_by_role("link", name=f"Send order {number}").first.click()
    slip = downloaded(packer, packer.get_by_role("link", name="Packing slip"))
    assert number in text_of(slip)
    orders.send(packer, number, PARCEL)
    expect(next_of(packer, shop, "send")).not_to_contain_text(number)
    told(shop, office, number, serial)


def wished(shop, office):
    """The office writes a customer down and designs what is wished, on the drawn comb."""
    orders.write_a_customer_down(office, shop, "Willow Threadgold", "willow@threadgold.example")
    number = orders.make_an_order(office)
    orders.start_from(office, "standard", "A")
    orders.set_note(office, "5 lower", "D#5")
    office.get_by_role("button", name="Undo").click()
    expect(office.locator("#seat-head + p")).to_contain_text("5 lower: D5, ")
    office.get_by_role("button", name="Redo").click()
    expect(office.locator("#seat-head + p")).to_contain_text("5 lower: D#5, ")
    expect(office.locator("#live")).to_contain_text("yes, from what is free")
    orders.add_to_the_order(office)
    orders.open_for_planning(office, number)
    return number


def built(shop, maker, number):
    """The maker builds what lies on the bench; return its serial number."""
    expect(next_of(maker, shop, "bench")).to_contain_text(f"{number}")
    maker.get_by_role("link", name=f"Go on building order {number}").first.click()
    maker.get_by_role("link", name="Seat by seat").click()
    main = maker.locator("main")
    expect(main).to_contain_text("Upper deck")
    orders.seat_all(maker, 20)
    orders.finish(maker)
    expect(main).to_contain_text("serial number")
    serial = maker.locator("main .row a").first.inner_text()
    maker.get_by_role("link", name=serial).first.click()
    paper = text_of(downloaded(maker, maker.get_by_role("link", name="Certificate")))
    assert serial in paper
    assert "D#5" in paper
    return serial


def told(shop, office, number, serial):
    """Afterwards everything is told by the order's page and by the customer's."""
    expect(orders.state_of(office, shop, number)).to_contain_text("sent")
    expect(office.locator("main")).to_contain_text(PARCEL)
    timeline = orders.steps_of(office)
    for words, who in (
        (f"sent: {PARCEL}", "Pia Parcelle"),
        ("all plates picked", "Pia Parcelle"),
        (f"instrument {serial} begun", "Mats Combley"),
        ("row 1 added", "Olga Reedmace"),
    ):
        mine = timeline.filter(has_text=words).filter(has_text=who)
        expect(mine.first).to_be_visible()
    office.get_by_role("link", name="Willow Threadgold").click()
    expect(office.locator("main table tbody tr")).to_have_count(1)
    expect(office.locator("main table tbody tr")).to_contain_text(
        re.compile(f"{number}.*{serial}", re.S)
    )


def test_two_draws_in_a_hole_and_an_empty_seat_are_designed_planned_and_built(staff, browser):
    shop, office = staff.shop, staff.office
    orders.write_a_customer_down(office, shop, "Sorrel Hatch", "sorrel@hatch.example")
    number = orders.make_an_order(office)
    orders.start_from(office, "standard", "G")
    orders.choose_seat(office, "3 upper")
    office.get_by_role("button", name="Turn over to draw").click()
    expect(office.locator("#seat-head + p")).to_contain_text("draw")
    orders.choose_seat(office, "8 upper")
    office.get_by_role("button", name="Empty the seat").click()
    expect(office.locator("#seat-head + p")).to_have_text("8 upper: empty")
    expect(office.locator("#live")).to_contain_text("yes, from what is free")
    orders.add_to_the_order(office)
    orders.open_for_planning(office, number)
    with steps.own_page(browser, java_script_enabled=False) as owner:
        steps.enter(owner, shop)
        serial = made_without_javascript(owner, shop, number)
    office.goto(f"{shop.origin}/instruments/{serial}/")
    expect(office.locator("main table tbody tr")).to_have_count(19)
    for seat, there in (("3 upper draw", 1), ("3 lower draw", 1), ("8 upper", 0)):
        expect(office.locator("main tbody th").filter(has_text=seat)).to_have_count(there)


def made_without_javascript(owner, shop, number):
    """One person alone plans, picks, builds and sends an order; nothing needs JavaScript."""
    orders.go(owner, shop, "Plans")
    steps.main_button(owner, "Plan").click()
    orders.look_on(owner)
    orders.set_aside(owner, number)
    orders.begin_to_pick(owner, shop, number)
    orders.pick_all(owner, 19)
    orders.to_the_bench(owner, number)
    owner.locator("tr").filter(has_text=number).get_by_role("link", name="Build").click()
    owner.get_by_role("link", name="Seat by seat").click()
    the_seats_are_told(owner)
    orders.seat_all(owner, 19)
    orders.finish(owner)
    serial = owner.locator("main .row a").first.inner_text()
    orders.send(owner, number, "carried over by hand")
    return serial


def the_seats_are_told(owner):
    """The list of seats has both draws of the hole, and no plate for the empty seat."""
    owner.get_by_text("All seats").click()
    seats = owner.locator("main details tbody th")
    expect(seats).to_have_count(19)
    expect(seats.filter(has_text=re.compile("^3 "))).to_have_text(["3 upper draw", "3 lower draw"])
    expect(seats.filter(has_text=re.compile("^8 "))).to_have_text(["8 lower draw"])
    expect(owner.get_by_role("link", name="8 upper: empty")).to_have_count(1)


def test_a_plate_that_is_not_there_is_replaced_by_the_best_one_in_the_midst_of_a_pick(staff):
    shop, packer = staff.shop, staff.packer
    number = orders.first_to_pick(packer, shop)
    orders.begin_to_pick(packer, shop, number)
    for _plate in range(3):
        orders.ticks(packer).first.click()
    expect(packer.locator("[data-queue]")).to_be_hidden()
    missed = orders.ticks(packer).first
    code = missed.locator("xpath=ancestor::section").get_attribute("data-bin")
    orders.not_there(packer, missed)
    expect(packer.locator("#messages")).to_contain_text(f"was not in bin {code}")
    expect(packer.get_by_role("link", name="Put the order back")).to_be_visible()
    offered = packer.locator("main tbody tr").filter(has_not_text="where it was not")
    costs = [float(each) for each in offered.locator("[data-label=Cost]").all_inner_texts()]
    assert len(costs) > 1
    assert costs == sorted(costs)
    best = packer.locator("main tbody th").first.inner_text()
    assert best != code
    packer.get_by_role("button", name="Take this").first.click()
    expect(packer.locator("#messages")).to_contain_text(f"go to bin {best}")
    expect(orders.ticks(packer, picked=True)).to_have_count(3)
    orders.pick_all(packer, 17)
    expect(packer.locator("[data-done]")).to_have_text("20")
    orders.to_the_bench(packer, number)
    packer.goto(f"{shop.origin}/rack/bin/{code}/")
    expect(packer.locator("main tbody tr").first).to_contain_text("-1")


def test_an_order_that_lacks_a_plate_is_put_back_and_waits_for_the_next_plan(staff):
    shop, packer = staff.shop, staff.packer
    number = orders.first_to_pick(packer, shop)
    orders.begin_to_pick(packer, shop, number)
    orders.ticks(packer).first.click()
    expect(packer.locator("[data-queue]")).to_be_hidden()
    picked = orders.ticks(packer, picked=True).first
    code = picked.locator("xpath=ancestor::section").get_attribute("data-bin")
    orders.not_there(packer, orders.ticks(packer).last)
    packer.get_by_role("link", name="Put the order back").click()
    expect(packer.locator("main tbody th")).to_have_text([code])
    steps.main_button(packer, "Put it back").click()
    expect(packer.locator("#messages")).to_contain_text("its plates are free again")
    expect(orders.state_of(packer, shop, number)).to_contain_text("open")


def test_a_cancelled_order_gives_its_plates_back_to_their_bins(staff):
    shop, office = staff.shop, staff.office
    office.goto(f"{shop.origin}/bench/?state=picking")
    number = office.locator("main tbody th").first.inner_text().strip()
    office.goto(f"{shop.origin}/orders/{number}/")
    rows = office.locator("[aria-labelledby=plates] tbody tr")
    picked = rows.filter(has_text="picked").first.locator("[data-label=Bin]").inner_text()
    aside = rows.filter(has_text="set aside").last.locator("[data-label=Bin]").inner_text()
    assert picked != aside
    before = {code: orders.bin_says(office, shop, code) for code in (picked, aside)}
    office.goto(f"{shop.origin}/orders/{number}/")
    office.get_by_role("link", name="Cancel the order").click()
    expect(office.locator("main")).to_contain_text(f"back into bin {picked}")
    office.get_by_label("Why it is cancelled").fill("they moved to the sea")
    steps.main_button(office, "Cancel the order").click()
    expect(office.locator("#messages")).to_contain_text("everything it held is given back")
    expect(orders.steps_of(office).first).to_contain_text("they moved to the sea")
    after = {code: orders.bin_says(office, shop, code) for code in (picked, aside)}
    assert after[picked][0] > before[picked][0]
    assert after[aside][0] == before[aside][0]
    assert after[aside][1] < before[aside][1]


def test_a_customer_says_yes_on_a_link_without_logging_in(staff, browser):
    shop, office = staff.shop, staff.office
    orders.go(office, shop, "Orders")
    office.get_by_label("Number or customer").fill(WAITING)
    steps.main_button(office, "Find").click()
    office.get_by_role("link", name=WAITING, exact=True).click()
    office.get_by_role("link", name="Show it to the customer").click()
    steps.main_button(office, "Make a link").click()
    link = office.get_by_label("The customer's link").input_value()
    with steps.own_page(browser) as customer:
        customer.goto(link)
        expect(customer.locator("nav.ways")).to_have_count(0)
        expect(customer.locator("main")).to_contain_text("Hole 1")
        customer.get_by_label("Your name").fill("Tansy Bell")
        customer.get_by_label("Anything to add").fill("just like my old one")
        steps.main_button(customer, "Yes, make it like this").click()
        expect(customer.locator("main")).to_contain_text("you said yes to this")
        customer.goto(link[:-4] + "none")
        expect(customer.locator("main")).to_contain_text("This link opens nothing")
        office.get_by_role("link", name=WAITING, exact=True).click()
        expect(office.locator("main")).to_contain_text("Tansy Bell said yes")
        expect(office.locator("main")).to_contain_text("just like my old one")
        expect(orders.steps_of(office).first).to_contain_text("The customer said yes")
        office.get_by_role("link", name="Show it to the customer").click()
        steps.main_button(office, "Withdraw").click()
        expect(office.locator("#messages")).to_contain_text("shows nothing any more")
        customer.goto(link)
        expect(customer.locator("main")).to_contain_text("has withdrawn this link")


def test_an_order_that_a_web_shop_sends_twice_is_one_order(staff):
    shop, office = staff.shop, staff.office
    token = steps.make_a_token(office, shop, may="make and change orders")
    order = {
        "outer_key": "basket-8",
        "customer": {"name": "Rowan Pettibone", "email": "rowan@pettibone.example"},
        "due": f"{date.today().year + 1}-03-01",
        "wishes": [{"key": "D", "layout": "standard"}],
    }
    first = orders.sent_in(shop, token, "basket-8-sent", order)
    assert orders.sent_in(shop, token, "basket-8-sent", order) == first
    _status, again = orders.sent_in(shop, token, "sent-by-a-new-program", order)
    assert again["order"] == first[1]["order"]
    orders.go(office, shop, "Orders")
    office.get_by_label("Number or customer").fill("Rowan Pettibone")
    steps.main_button(office, "Find").click()
    expect(office.locator("main tbody tr")).to_have_count(1)
    expect(office.locator("main tbody tr")).to_contain_text(first[1]["order"])
