"""The live page in a real browser, with a microphone that plays a file, and its bare line."""

import json
import re
from contextlib import contextmanager
from dataclasses import dataclass

import pytest
from playwright.sync_api import expect
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from shop.journeys import steps
from shop.journeys.served import Shop, served
from shop.tuning.wire import wire
from shop.tuning.workshop import SERIAL, built_shop, microphone, note, silence, wav

pytestmark = pytest.mark.journey


#: The standard layout in C, hole by hole, blow first. Source: [oeis-a291810].
BLOW = (60, 64, 67, 72, 76, 79, 84, 88, 91, 96)
DRAW = (62, 67, 71, 74, 77, 81, 83, 86, 89, 93)


@dataclass(frozen=True)
class Workshop:
    """A shop that is open, and the sessions of those who are logged in."""

    shop: Shop
    marks: dict[str, str]

    @property
    def origin(self):
        return self.shop.origin

    def cookie(self, name):
        return f"sessionid={self.marks[name]}"


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tuning") / "shop"
    marks = built_shop(folder)
    with served(folder) as opened_shop:
        yield Workshop(opened_shop, marks)


@contextmanager
def opened(shop, file, *, address=f"/tuning/{SERIAL}/", origin=None, before="", **more):
    """Open a page of the maker's; what goes wrong in its scripts fails the test.

    `before` is a script that runs before the page's own.
    """
    expect.set_options(timeout=steps.PATIENCE_MS)
    faults = []
    where = origin or shop.origin
    with microphone(file, **more) as context:
        context.add_cookies([{"name": "sessionid", "value": shop.marks["mats"], "url": where}])
        page = context.new_page()
        page.add_init_script(before)
        page.set_default_timeout(steps.PATIENCE_MS)
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.goto(where + address)
        yield page
    assert faults == []


def listen(page):
    page.get_by_role("button", name="Listen", exact=True).click()


def reeds_cents(page, label):
    """Return the locator of a reed's last cents."""
    return (
        page.locator("[data-aim]").filter(has=page.get_by_text(label, exact=True)).locator("small")
    )


def test_a_reed_is_read_to_half_a_cent_and_kept_by_itself(shop, tmp_path):
    file = wav(
        tmp_path / "two.wav", silence(0.6), note(60, 4.2, 1.5), silence(0.6), note(76, -12.3, 1.5)
    )
    with opened(shop, file) as page:
        page.get_by_label("Keep each reed by itself").check()
        listen(page)
        expect(reeds_cents(page, "1 blow")).not_to_have_text("–")
        expect(reeds_cents(page, "5 blow")).not_to_have_text("–")
        first, second = (
            float(reeds_cents(page, label).inner_text().replace("−", "-"))
            for label in ("1 blow", "5 blow")
        )
        assert first == pytest.approx(4.2, abs=0.5)
        assert second == pytest.approx(-12.3, abs=0.5)
        page.get_by_role("button", name="Stop listening").click()
        expect(page.locator("[data-queue]")).to_be_hidden()
        page.reload()
        expect(reeds_cents(page, "1 blow")).not_to_have_text("–")
        row = page.locator("#lately li").filter(has_text="1 upper blow").first
        row.get_by_role("button", name="Strike out").click()
        expect(page.locator("#lately li.struck")).to_have_count(1)


def test_a_whole_take_is_recorded_through_the_microphone_and_heard(shop, tmp_path):
    """Every reed two cents high but for 4 draw; the take that comes twice is one."""
    off = {74: -9.0}
    reeds = [midi for hole in zip(BLOW, DRAW, strict=True) for midi in hole]
    played = [(silence(0.15), note(midi, off.get(midi, 2.0), 0.45)) for midi in reeds]
    file = wav(
        tmp_path / "take.wav", silence(1.0), *(s for pair in played for s in pair), silence(3)
    )
    with opened(shop, file) as page:
        listen(page)
        page.get_by_role("button", name="Record a take").click()
        expect(page.locator("[data-seat]")).to_have_text("10 draw")
        page.get_by_role("button", name="End the take").click()
        expect(page).to_have_url(re.compile(r"/tuning/takes/\d+/"))
        table = page.locator("main table").first
        expect(table).to_contain_text("4 draw")
        expect(page.locator("main")).to_contain_text("9.0")


def test_a_cut_line_is_said_and_mended_and_what_was_kept_is_sent_then(shop, tmp_path):
    file = wav(tmp_path / "one.wav", silence(0.4), note(62, 9.0, 4.0))
    with wire(shop.origin) as laid, opened(shop, file, origin=laid.origin) as page:
        listen(page)
        keep = page.get_by_role("button", name="Keep this reading")
        expect(keep).to_be_enabled()
        laid.cut()
        expect(page.locator("#listen [data-state]")).to_contain_text("does not answer")
        keep.click()
        expect(page.locator("[data-queue]")).to_contain_text("1 wait")
        laid.mend()
        expect(page.locator("#listen [data-state]")).to_contain_text("Listening")
        expect(page.locator("[data-queue]")).to_be_hidden()
        page.reload()
        assert float(reeds_cents(page, "1 draw").inner_text()) == pytest.approx(9.0, abs=0.5)


def test_a_microphone_that_is_not_lent_or_not_there_is_said(shop, tmp_path):
    file = wav(tmp_path / "one.wav", note(60, 0, 1.0))
    with opened(shop, file, lent=False) as page:
        listen(page)
        expect(page.locator("#listen [data-state]")).to_contain_text(
            "told not to lend its microphone"
        )
        expect(page.get_by_role("button", name="Listen", exact=True)).to_be_visible()


def test_a_microphone_that_is_taken_away_is_said_and_the_page_goes_on_when_it_is_back(
    shop, tmp_path
):
    file = wav(tmp_path / "one.wav", silence(0.4), note(64, 3.0, 2.0))
    with opened(shop, file) as page:
        listen(page)
        expect(page.locator("#listen [data-state]")).to_contain_text("Listening")
        page.context.clear_permissions()
        expect(page.locator("#listen [data-state]")).to_contain_text("taken away")
        # The page asks once more by itself; it is refused, and then waits to be told.
        expect(page.get_by_role("button", name="Listen", exact=True)).to_be_visible()
        page.context.grant_permissions(["microphone"])
        listen(page)
        expect(page.locator("[data-seat]")).to_have_text("2 blow")


#: Keeps hold of the page's own sound system, which a sleeping device suspends.
HELD = """
  const Whole = window.AudioContext;
  window.AudioContext = class extends Whole {
    constructor(how) { super(how); window.held = this; }
  };
"""


def test_a_device_that_falls_asleep_is_woken_and_a_take_with_a_gap_is_said_to_have_one(
    shop, tmp_path
):
    file = wav(tmp_path / "one.wav", silence(0.4), note(64, 3.0, 2.0))
    with opened(shop, file, before=HELD) as page:
        listen(page)
        page.get_by_role("button", name="Record a take").click()
        page.evaluate("window.held.suspend()")
        expect(page.locator("#listen [data-state]")).to_contain_text("asleep")
        expect(page.locator("#listen [data-state]")).to_contain_text("Listening")
        page.get_by_role("button", name="End the take").click()
        expect(page.locator("#taking")).to_contain_text("has a gap")
        page.once("dialog", lambda asked: asked.accept())


def test_plates_on_a_jig_land_in_their_bins_by_note(shop, tmp_path):
    """The sample takes plates of two bins; each plate that sounds is written down for its own."""
    file = wav(
        tmp_path / "two.wav", silence(0.5), note(60, 2, 1.2), silence(0.5), note(62, -4, 1.2)
    )
    with opened(shop, file, address="/tuning/samples/1/") as page:
        page.get_by_label("Jig as you call it").fill("jig 2")
        page.get_by_label("Keep each reed by itself").check()
        listen(page)
        expect(page).to_have_url(f"{shop.origin}/arrivals/1/")
        rows = page.locator("table").first.locator("tbody tr")
        means = [float(rows.nth(n).locator("[data-label^=Mean]").inner_text()) for n in (0, 1)]
        assert means == pytest.approx([2.0, -4.0], abs=0.5)


def line(shop, *, cookie="", origin=None):
    return connect(
        shop.origin.replace("http", "ws") + "/tuning/line/",
        additional_headers={"Cookie": cookie} if cookie else {},
        origin=origin or shop.origin,
    )


def test_only_pages_of_the_shop_and_people_who_may_measure_get_a_line(shop):
    wrong = [
        {"cookie": ""},
        {"cookie": "sessionid=made-up"},
        {"cookie": shop.cookie("olga")},
        {"cookie": shop.cookie("mats"), "origin": "http://elsewhere.example"},
    ]
    for each in wrong:
        with pytest.raises(InvalidStatus, match="403"), line(shop, **each):
            pass
    with line(shop, cookie=shop.cookie("mats")) as opened_line:
        opened_line.send(json.dumps({"rate": 48_000, "aims": []}))
        opened_line.send(bytes(4 * 4800))
        assert json.loads(opened_line.recv(timeout=20))["level"] < -100


def test_a_line_on_which_nonsense_is_said_is_closed_with_the_reason(shop):
    with line(shop, cookie=shop.cookie("mats")) as opened_line:
        opened_line.send(json.dumps({"rate": 1}))
        with pytest.raises(ConnectionClosed) as closed:
            opened_line.recv(timeout=20)
        assert closed.value.rcvd.code == 1003
        assert "rate is 1" in closed.value.rcvd.reason
