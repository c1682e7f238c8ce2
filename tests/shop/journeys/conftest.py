import shutil
from dataclasses import dataclass

import pytest
from playwright.sync_api import Page, expect

from shop.journeys import steps
from shop.journeys.served import Shop, demo_shop, proved, served

expect.set_options(timeout=steps.PATIENCE_MS)


@pytest.fixture(scope="module")
def new_shop(tmp_path_factory):
    """A shop that nobody has entered yet."""
    with served(tmp_path_factory.mktemp("new") / "shop") as shop:
        yield shop


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory):
    """The data of the demo's shop, set up once; each module opens a copy."""
    return demo_shop(tmp_path_factory.mktemp("demo"))


@pytest.fixture(scope="module")
def demo(demo_folder, tmp_path_factory):
    """The demo's shop."""
    with served(shutil.copytree(demo_folder, tmp_path_factory.mktemp("open") / "shop")) as shop:
        yield shop


@pytest.fixture
def page(browser):
    """A page in a browser of its own; what its console says is wrong fails the test."""
    with steps.own_page(browser) as opened:
        yield opened


@dataclass(frozen=True)
class Staff:
    """Three people at their own browsers, in one shop."""

    shop: Shop
    office: Page
    maker: Page
    packer: Page


@pytest.fixture(scope="module")
def staff(demo, browser):
    """An office, a maker and a packer, let in by the owner; at the end the books must be right."""
    with (
        steps.own_page(browser) as owner,
        steps.own_page(browser) as office,
        steps.own_page(browser) as maker,
        steps.own_page(browser) as packer,
    ):
        steps.enter(owner, demo)
        steps.let_in(owner, demo, office, "olga", "Olga Reedmace", "Office")
        steps.let_in(owner, demo, maker, "mats", "Mats Combley", "Maker")
        steps.let_in(owner, demo, packer, "pia", "Pia Parcelle", "Packer")
        yield Staff(demo, office, maker, packer)
    proved(demo)
