import pytest
from axe_playwright_python.sync_playwright import Axe

from shop.look.shown import ORIGIN, answer_with

PARTS = f"{ORIGIN}/look/parts/"
PAGES = ["/look/parts/", "/found/", "/forbidden/", "/nowhere/", "/broken/"]
WIDTHS = (360, 1024, 1440)


@pytest.fixture
def opened(browser):
    """Open an address of the shop in a new window of the browser; complaints are collected."""
    windows = []

    def go(address="/look/parts/", *, role="owner", sent=None, script=True, **window):
        context = browser.new_context(java_script_enabled=script, **window)
        windows.append(context)
        page = context.new_page()
        page.complaints = []
        page.on("console", lambda said: page.complaints.append(said.text))
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        answer_with(page, role, sent)
        page.goto(ORIGIN + address)
        return page

    yield go
    for context in windows:
        context.close()


def size(width):
    return {"width": width, "height": 800}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("address", PAGES)
def test_axe_finds_nothing_to_complain_of(opened, address, scheme):
    for width in (360, 1440):
        page = opened(address, viewport=size(width), color_scheme=scheme)
        assert page.locator("h1").count() == 1
        found = Axe().run(page).response["violations"]
        assert [(each["id"], each["nodes"][0]["html"]) for each in found] == []


@pytest.mark.parametrize("address", ["/look/parts/", "/rack/bins/"])
@pytest.mark.parametrize("width", WIDTHS)
def test_no_page_is_wider_than_the_screen(opened, address, width):
    page = opened(address, viewport=size(width))
    assert page.evaluate("document.documentElement.scrollWidth") == width


def test_nothing_on_a_page_breaks_the_policy_or_comes_from_elsewhere(opened):
    sent = []
    page = opened(sent=sent)
    assert page.complaints == []
    assert {url.startswith(ORIGIN) for _method, url in sent} == {True}
    assert any(url.endswith("shop.css") for _method, url in sent)


def test_what_one_presses_is_48_pixels_high_on_a_phone(opened):
    page = opened(viewport=size(360))
    kinds = ".button, .ways a, .person a, .pager a, .tick, .bench .button, .field select"
    heights = page.eval_on_selector_all(
        kinds, "all => all.map(e => e.offsetHeight).filter(high => high)"
    )
    assert len(heights) > 30
    assert min(heights) >= 48


def test_the_first_key_leads_past_the_navigation(opened):
    page = opened("/rack/bins/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert page.locator(".skip").bounding_box()["y"] >= 0
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


def test_every_focus_is_seen(opened):
    page = opened()
    unseen = []
    for _ in range(120):
        page.keyboard.press("Tab")
        style = page.evaluate(
            "(() => { const e = document.activeElement, s = getComputedStyle(e);"
            " return [e.outerHTML.slice(0, 80), s.outlineStyle, parseFloat(s.outlineWidth)]; })()"
        )
        if style[0].startswith("<body"):
            break
        if style[1] == "none" or style[2] < 2:
            unseen.append(style)
    else:
        pytest.fail("The keyboard never came round.")
    assert unseen == []


def test_a_dangerous_form_asks_first_and_going_back_sends_nothing(opened):
    sent = []
    page = opened(sent=sent)
    ours = lambda: [url for _method, url in sent if "/look/parts/" in url]  # noqa: E731
    page.get_by_role("button", name="Scrap, and ask first").click()
    dialog = page.get_by_role("dialog")
    assert "leave the rack for good" in dialog.inner_text()
    assert page.evaluate("document.activeElement.textContent") == "Go back"
    page.keyboard.press("Escape")
    dialog.wait_for(state="hidden")
    assert len(ours()) == 1
    page.get_by_role("button", name="Scrap, and ask first").click()
    with page.expect_navigation():
        dialog.get_by_role("button", name="Scrap, and ask first").click()
    assert len(ours()) == 2


def test_without_scripts_a_dangerous_form_is_sent_as_it_is(opened):
    page = opened(script=False)
    with page.expect_navigation():
        page.get_by_role("button", name="Scrap, and ask first").click()
    assert page.url.startswith(PARTS)


def test_a_double_click_sends_a_form_once(opened):
    sent = []
    page = opened("/rack/bins/", sent=sent)
    page.evaluate("""() => {
        window.times = 0;
        const form = document.querySelector("form[method=post]");
        form.addEventListener("submit", (event) => { window.times++; event.preventDefault(); });
        form.requestSubmit(); form.requestSubmit();
    }""")
    assert page.evaluate("window.times") == 1


def test_a_filter_renews_its_list_in_place_and_reads_out_how_many(opened):
    page = opened("/found/")
    page.evaluate("window.same = true")
    page.get_by_label("Find").press_sequentially("A-")
    page.locator("#announced", has_text="2 bins").wait_for(state="attached")
    assert "B-1" not in page.locator("#found").inner_text()
    assert page.evaluate("window.same && document.activeElement.name") == "text"
    assert page.url.startswith(f"{ORIGIN}/found/?text=A-")
    assert page.complaints == []


def test_a_filter_works_without_scripts(opened):
    page = opened("/found/", script=False)
    page.get_by_label("Find").fill("A-")
    page.get_by_role("button", name="Show").click()
    page.wait_for_url("**/found/?text=A-*")
    assert "A-2" in page.locator("#found").inner_text()
    assert "B-1" not in page.locator("#found").inner_text()


def test_tables_become_cards_on_a_phone_and_only_there(opened):
    phone, desk = opened(viewport=size(360)), opened(viewport=size(1024))
    row = "getComputedStyle(document.querySelector('tr:has(td[data-label])')).display"
    assert phone.evaluate(row) == "block"
    assert desk.evaluate(row) == "table-row"


def test_on_paper_there_is_no_navigation_and_it_is_day(opened):
    page = opened(color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    assert page.locator(".ways").is_hidden()
    assert page.locator(".filter").is_hidden()
    assert page.evaluate("getComputedStyle(document.documentElement).color") == "rgb(29, 36, 48)"


def test_in_the_system_s_own_colours_every_word_still_differs_from_its_ground(opened):
    page = opened(forced_colors="active")
    same = page.evaluate("""() => [...document.querySelectorAll("a, button, td, th, label, p")]
        .filter((e) => { const s = getComputedStyle(e); return s.color === s.backgroundColor; })
        .map((e) => e.outerHTML.slice(0, 80))""")
    assert same == []
    deep = "getComputedStyle(document.querySelector('.level-6 a')).color"
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert page.evaluate(deep) != page.evaluate(ground)
