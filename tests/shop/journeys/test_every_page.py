"""Every page of the demo's shop is accessible, fits a phone and loads nothing from elsewhere.

Pages are found by following links from the first one; of pages of one kind the first is looked at.
With COMBWRIGHT_PICTURES=FOLDER each is also pictured at three widths, light and dark.
"""

import os
import re
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import Resolver404, resolve

from shop.journeys import orders, steps

pytestmark = pytest.mark.journey
NOT_PAGES = re.compile(r"\.(csv|xlsx|json|zip|pdf|toml|svg)$")
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
WIDTHS = (360, 1024, 1440)
#: What is asked of each look: the dark one has other colours, and nothing else of its own.
LOOKS = {
    "light": {"type": "tag", "values": WCAG},
    "dark": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]},
}


def kind_of(path):
    """Return what tells kinds of pages apart: the name of the address."""
    try:
        return resolve(path.partition("?")[0]).view_name
    except Resolver404:
        return path


class Links(HTMLParser):
    """Gathers where the links of a page lead, in drawings too."""

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attributes):
        if tag == "a":
            self.found += [value for name, value in attributes if name == "href" and value]


def links_of(text, address, origin):
    links = Links()
    links.feed(text)
    whole = [urljoin(address, each) for each in links.found]
    parts = [urlsplit(each) for each in whole if each.startswith(origin + "/")]
    # What is asked belongs to it: a walk is one for some orders, plates are those of an order.
    pages = [each for each in parts if not NOT_PAGES.search(each.path)]
    return sorted({f"{each.path}?{each.query}" if each.query else each.path for each in pages})


def all_kinds(page, shop):
    """Walk the shop and give one path of each kind of page, with its name."""
    seen, todo, kinds = set(), ["/rack/"], {}
    while todo:
        path = todo.pop(0)
        kind = kind_of(path)
        if kind in seen:
            continue
        seen.add(kind)
        answer = page.request.get(shop.origin + path)
        if "text/html" not in answer.headers.get("content-type", ""):
            continue
        kinds[kind] = path
        links = links_of(answer.text(), answer.url, shop.origin)
        todo += [each for each in links if kind_of(each) not in seen]
    return kinds


def faults_of(page, only):
    """Return what axe finds on the page, in few words."""
    found = Axe().run(page, options={"runOnly": only, "resultTypes": ["violations"]})
    return [
        f"{each['id']}: {each['nodes'][0]['html'][:160]}" for each in found.response["violations"]
    ]


def picture(page, kind):
    folder = os.environ.get("COMBWRIGHT_PICTURES")
    if not folder:
        return
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        for look in LOOKS:
            page.emulate_media(color_scheme=look)
            name = f"{kind.replace(':', '-')}-{width}-{look}.png"
            page.screenshot(path=Path(folder) / name, full_page=True)


def test_every_page_is_accessible_fits_a_phone_and_loads_nothing_from_elsewhere(demo, page):
    elsewhere = []
    page.on(
        "request",
        lambda sent: None if sent.url.startswith(demo.origin) else elsewhere.append(sent.url),
    )
    steps.enter(page, demo)
    steps.start_a_round(page, demo, bins=3)
    steps.make_a_token(page, demo)
    steps.back_up(page, demo)
    page.goto(f"{demo.origin}/rack/batches/")
    steps.draw_a_sample(page, demo, page.locator("main table tbody th a").first.inner_text())
    orders.lack_a_plate(page, demo)
    steps.rank_layouts(page, demo)
    steps.tell_a_program(page, demo)
    kinds = all_kinds(page, demo)
    kinds["orders:shared"] = orders.link_for_the_customer(page, demo, "W-102")
    assert len(kinds) > 80
    assert "choosing:one" in kinds
    faults = {}
    for kind, path in kinds.items():
        page.set_viewport_size({"width": 360, "height": 780})
        page.goto(demo.origin + path)
        for look, only in LOOKS.items():
            page.emulate_media(color_scheme=look)
            found = faults_of(page, only)
            wide = page.evaluate("document.documentElement.scrollWidth")
            if wide > 360:
                found.append(f"scrolls sideways: {wide} px")
            if found:
                faults[f"{path} {look}"] = found
        picture(page, kind)
    assert faults == {}
    assert elsewhere == []
