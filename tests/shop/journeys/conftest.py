import pytest

from shop.journeys.served import demo_shop, served


@pytest.fixture(scope="module")
def new_shop(tmp_path_factory):
    """A shop that nobody has entered yet."""
    with served(tmp_path_factory.mktemp("new") / "shop") as shop:
        yield shop


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo's shop."""
    with served(demo_shop(tmp_path_factory.mktemp("demo"))) as shop:
        yield shop


@pytest.fixture
def page(browser):
    """A page in a browser of its own; what its console says is wrong fails the test."""
    context = browser.new_context(viewport={"width": 1024, "height": 900}, reduced_motion="reduce")
    opened = context.new_page()
    opened.set_default_timeout(10_000)
    faults = []
    opened.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    opened.on("pageerror", lambda error: faults.append(str(error)))
    yield opened
    context.close()
    # A form that was not accepted, or a page that one may not see, is no fault.
    told = [each for each in faults if "status of 4" not in each]
    assert told == []
