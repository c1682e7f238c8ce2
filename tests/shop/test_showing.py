"""The demo shop: full of things to look at, and planned as the command line plans it."""

import re
from decimal import Decimal

import pytest

from combwright.allocation.planner import plan
from combwright.demo.scenario import write_demo_shop
from combwright.demo.stock_left import rack_bins
from combwright.files.answers import plan_answer
from combwright.shop import showing
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.plans.models import MadePlan
from combwright.shop.rack.models import Entry
from demo.planned import read_folder
from shop.life.proofs import wrong

pytestmark = pytest.mark.django_db


@pytest.fixture
def files(tmp_path):
    """The workshop's files, with the one temperament that the shop knows in place of its own."""
    write_demo_shop(tmp_path)
    orders = tmp_path / "orders.csv"
    text, many = re.subn("temperament-soft-thirds.toml", "5-limit", orders.read_text("utf-8"))
    assert many == 2
    orders.write_text(text, "utf-8")
    return tmp_path


@pytest.fixture
def link():
    return showing.set_up(rack_bins())


def test_the_shop_plans_its_orders_as_the_command_line_does(link, files):
    stock, orders, workshop = read_folder(files)
    by_files = plan_answer(plan(stock, orders, workshop))
    kept = MadePlan.objects.get()
    assert (kept.ready, kept.all_orders) == (49, 69)
    assert Decimal(str(kept.head["value"])) == Decimal(8624)
    assert kept.head["proven"]
    assert {name: by_files[name] for name in kept.head} == kept.head
    assert sum(each["ready"] for each in by_files["orders"]) == kept.ready


def test_every_state_and_room_has_something_to_show_and_all_adds_up(link):
    states = set(Order.objects.values_list("state", flat=True))
    assert states == set(State) - {State.DRAFT, State.CANCELLED}
    assert wrong() == []
    showing.check(link)


def test_setting_the_demo_up_again_changes_nothing(link):
    before = (Order.objects.count(), MadePlan.objects.count(), Entry.objects.count())
    assert showing.set_up(rack_bins()) != link
    assert (Order.objects.count(), MadePlan.objects.count(), Entry.objects.count()) == before


def test_the_check_tells_of_an_order_that_does_not_add_up(link):
    Order.objects.filter(state=State.PICKING).update(state=State.OPEN)
    with pytest.raises(showing.ShopFault, match="do not add up"):
        showing.check(link)
