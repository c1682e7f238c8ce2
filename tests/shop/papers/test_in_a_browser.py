"""The pages in a real browser, its camera faked by a film with a label in it."""

import os
import shutil

import cv2
import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect, sync_playwright

from combwright.shop.papers.models import LabelSize
from combwright.shop.rack import plate_actions
from combwright.shop.rack.models import Bin
from shop.papers.test_scan import picture
from shop.rack.shelves import a_bin, somebody

pytestmark = pytest.mark.django_db(transaction=True)
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run",
    "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream",
    "--host-resolver-rules=MAP shop.lan 127.0.0.1",
]  # fmt: skip
LABEL = "http://the-shop-s-old-name.lan/papers/s/b/A-1"
OWN_READER = """window.BarcodeDetector = class {
  static async getSupportedFormats() { return ["qr_code"]; }
  async detect(video) { return video.videoWidth ? [{ rawValue: "%s" }] : []; }
};"""
NO_READER = "delete window.BarcodeDetector;"


def film(path):
    """Write a second of film, as raw frames, that shows a label held into the camera."""
    frames = []
    for n in range(10):
        grey = picture(LABEL, scale=5, turn=3 * n - 12, noise=6)
        colour = np.full(grey.size // 2, 128, np.uint8).tobytes()
        frames.append(b"FRAME\n" + grey.tobytes() + colour)
    path.write_bytes(b"YUV4MPEG2 W640 H480 F10:1 Ip A1:1 C420jpeg\n" + b"".join(frames))


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    program = shutil.which("chromium")
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("Chromium is not installed; in CI no browser test is skipped.")
        pytest.skip("Chromium is not installed: the browser tests were not run.")
    path = tmp_path_factory.mktemp("film") / "label.y4m"
    film(path)
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"  # playwright keeps a loop running in this thread
    with sync_playwright() as driver:
        flags = [*FLAGS, f"--use-file-for-fake-video-capture={path}"]
        opened = driver.chromium.launch(executable_path=program, args=flags)
        yield opened
        opened.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def shop(settings, live_server):
    settings.ALLOWED_HOSTS = ["localhost", "shop.lan"]
    somebody()
    a_bin("A-1", 3)
    a_bin("A-2", 1, midi=62)
    if not LabelSize.objects.exists():
        LabelSize.objects.create(
            title="a sheet of 24", kind="sheet", paper="A4", width_mm=70, height_mm=37, columns=3,
            rows=8, top_mm="0.5",
        )  # fmt: skip
    return live_server.url


@pytest.fixture
def opened(browser, shop, client):
    """Open a page as the owner; what goes wrong on it is collected in `complaints`."""
    windows = []

    def go(address, *, host="localhost", ready="", script=True, **window):
        context = browser.new_context(reduced_motion="reduce", java_script_enabled=script, **window)
        windows.append(context)
        client.force_login(somebody())
        cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value}
        context.add_cookies([{**cookie, "domain": host, "path": "/"}])
        if ready:
            context.add_init_script(ready)
        page = context.new_page()
        page.complaints, page.sent = [], []
        page.on("console", lambda said: page.complaints.append(said.text))
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        page.on("request", lambda sent: page.sent.append(sent.url))
        page.goto(shop.replace("localhost", host) + address)
        return page

    yield go
    for context in windows:
        context.close()


def at_bin(page, code="A-1"):
    page.wait_for_url(f"**/rack/bin/{code}/")
    assert f"Bin {code}" in page.locator("h1").inner_text()


@pytest.mark.parametrize(("ready", "asked"), [(NO_READER, "frame"), (OWN_READER % LABEL, "said")])
def test_a_label_held_into_the_camera_opens_its_bin(opened, ready, asked):
    page = opened("/papers/scan/", ready=ready)
    page.get_by_role("button", name="Start the camera").click()
    at_bin(page)
    assert {way for way in ("frame", "said") if any(way in url for url in page.sent)} == {asked}
    assert page.complaints == []
    # On to the next label: the camera is on again at once.
    page.get_by_role("link", name="Scan next").click()
    at_bin(page)


def test_a_reader_of_the_browser_that_fails_is_given_up_for_the_shop_s(opened):
    broken = (OWN_READER % LABEL).replace("return video", 'throw new Error("x"); return video')
    page = opened("/papers/scan/", ready=broken)
    page.get_by_role("button", name="Start the camera").click()
    at_bin(page)
    assert any("/scan/frame/" in url for url in page.sent)


def test_one_picture_is_on_its_way_at_a_time_and_it_is_small(opened):
    page = opened("/papers/scan/", ready=NO_READER)
    held = []
    page.route("**/scan/frame/**", lambda route: held.append(route))
    page.get_by_role("button", name="Start the camera").click()
    with page.expect_request("**/scan/frame/**"):
        pass
    page.wait_for_timeout(900)
    assert len(held) == 1
    sent = held[0].request
    assert 0 < len(sent.post_data_buffer) <= 1280 * 1280
    assert sent.headers["content-type"] == "application/octet-stream"
    held[0].fulfill(status=204)
    page.wait_for_timeout(600)
    assert len(held) == 2


def test_a_code_of_somebody_else_is_told_and_the_camera_goes_on(opened):
    page = opened("/papers/scan/", ready=OWN_READER % "https://elsewhere.example/")
    page.get_by_role("button", name="Start the camera").click()
    words = page.locator("[data-words]")
    expect(words).to_contain_text("Nothing here is called “https://elsewhere.example/”.")
    expect(page.locator("video")).to_be_visible()
    page.get_by_role("button", name="Stop the camera").click()
    expect(words).to_have_text("The camera is off.")
    expect(page.locator("video")).to_be_hidden()


def test_the_camera_stops_when_the_page_is_hidden_and_goes_on_after(opened):
    page = opened("/papers/scan/", ready=OWN_READER % "elsewhere")
    page.get_by_role("button", name="Start the camera").click()
    expect(page.locator("video")).to_be_visible()
    page.evaluate("window.track = document.querySelector('video').srcObject.getTracks()[0]")
    turn = """(hidden) => {
        Object.defineProperty(document, "hidden", { value: hidden, configurable: true });
        document.dispatchEvent(new Event("visibilitychange"));
    }"""
    page.evaluate(turn, True)
    assert page.evaluate("window.track.readyState") == "ended"
    page.evaluate(turn, False)
    expect(page.locator("video")).to_be_visible()


@pytest.mark.parametrize(
    ("error", "said"),
    [
        ("NotAllowedError", "Allow the camera for this address"),
        ("NotFoundError", "No camera was found."),
        ("NotReadableError", "Another program is using the camera."),
    ],
)
def test_it_says_why_there_is_no_camera_and_what_to_do(opened, error, said):
    refuse = f"""navigator.mediaDevices.getUserMedia = async () => {{
        throw new DOMException("", "{error}"); }};"""
    page = opened("/papers/scan/", ready=refuse)
    page.get_by_role("button", name="Start the camera").click()
    expect(page.locator("[data-words]")).to_contain_text(said)
    expect(page.get_by_role("button", name="Start the camera")).to_be_visible()


def test_over_plain_http_it_says_so_and_a_picture_taken_does_instead(opened, tmp_path):
    page = opened("/papers/scan/", host="shop.lan")
    expect(page.locator("[data-words]")).to_contain_text("lends its camera only to pages")
    expect(page.get_by_role("button", name="Start the camera")).to_be_hidden()
    taken = tmp_path / "taken.png"
    cv2.imwrite(str(taken), picture("nothing", scale=1)[:40])
    page.get_by_label("Or take a picture").set_input_files(taken)
    expect(page.locator("[data-words]")).to_contain_text("No code was found in the picture.")
    cv2.imwrite(str(taken), picture(LABEL, turn=20, scale=8, shape=(1500, 2000)))
    page.get_by_label("Or take a picture").set_input_files(taken)
    at_bin(page)


def test_a_light_is_offered_where_the_camera_has_one(opened):
    lamp = """MediaStreamTrack.prototype.getCapabilities = () => ({ torch: true });
        MediaStreamTrack.prototype.applyConstraints = async (wish) => { window.wish = wish; };"""
    page = opened("/papers/scan/", ready=OWN_READER % "elsewhere" + lamp)
    page.get_by_role("button", name="Start the camera").click()
    light = page.get_by_role("button", name="Light")
    light.click()
    expect(light).to_have_attribute("aria-pressed", "true")
    assert page.evaluate("window.wish.advanced[0].torch") is True


@pytest.mark.parametrize("script", [True, False])
def test_a_hand_scanner_types_and_lands_on_the_thing(opened, script):
    page = opened("/papers/scan/", script=script)
    field = page.locator("form.form input[name=text]")
    expect(field).to_be_focused()  # a browser hands out the first focus a moment after loading
    page.keyboard.type("A-9")
    page.keyboard.press("Enter")
    expect(page.locator(".notice.error")).to_contain_text("Nothing here is called “A-9”.")
    # The next code is typed without touching anything, into an empty field.
    expect(field).to_be_focused()
    page.keyboard.type(LABEL)
    page.keyboard.press("Enter")
    at_bin(page)


def test_what_a_scanner_types_goes_into_the_field_wherever_the_focus_was(opened):
    page = opened("/papers/scan/")
    page.locator("h1").click()
    page.evaluate("document.activeElement.blur()")
    page.keyboard.type("A-2")
    page.keyboard.press("Enter")
    at_bin(page, "A-2")


def test_labels_are_chosen_and_come_as_a_file(opened):
    page = opened("/rack/bin/A-1/")
    page.get_by_role("link", name="Label", exact=True).click()
    assert "1 label" in page.locator("#run-title").inner_text()
    with page.expect_download() as got:
        page.get_by_role("button", name="Get the labels as PDF").click()
    assert got.value.suggested_filename == "labels.pdf"
    assert got.value.path().read_bytes().startswith(b"%PDF")


def every_page():
    plate = plate_actions.label_plates(Bin.objects.get(code="A-1"), 1)[0]
    plate_actions.measure(plate, -3500)
    size = LabelSize.objects.first().pk
    return [
        "/papers/scan/", "/papers/scan/?text=A-9", "/papers/labels/", "/papers/labels/?what=b",
        "/papers/labels/?what=b&begin=99", "/papers/sizes/", "/papers/sizes/new/",
        f"/papers/sizes/{size}/", f"/papers/plates/{plate.code}/", "/papers/bin-plates/A-1/",
        f"/papers/plates/{plate.code}/move/", f"/papers/plates/{plate.code}/scrap/",
        "/rack/bin/A-1/", "/rack/batches/b1/",
    ]  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1440])
def test_axe_finds_nothing_and_no_page_is_wider_than_the_screen(opened, shop, scheme, width):
    page = opened("/", viewport={"width": width, "height": 900}, color_scheme=scheme)
    for address in every_page():
        page.goto(shop + address)
        found = Axe().run(page).response["violations"]
        assert [(each["id"], each["nodes"][0]["html"]) for each in found] == [], address
        assert page.evaluate("document.documentElement.scrollWidth") == width, address
        low = page.eval_on_selector_all(
            "main .button, main .tick",
            "all => all.filter(e => e.offsetHeight && e.offsetHeight < 48).map(e => e.id)",
        )
        assert low == [], address
    assert [each for each in page.complaints if "404" not in each] == []
