"""The plans' pages: who sees what, what is said, what is refused, and how much is asked."""

import html
import re
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from combwright.shop.jobs.models import Job
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.people.roles import TABLE, May, Role
from combwright.shop.plans import actions, urls
from combwright.shop.plans.expected import bins_of_set
from combwright.shop.plans.models import MadePlan, PlanOrder, Taken
from combwright.shop.rack import actions as rack
from combwright.shop.rack.models import Batch, Bin
from shop.plans.days import a_plan, a_set, an_order
from shop.rack.shelves import somebody

pytestmark = pytest.mark.django_db
EVERYONE, PLANNING = TABLE[May.LOOK], TABLE[May.PLAN]
ROWS = {"sets-TOTAL_FORMS": "2", "sets-INITIAL_FORMS": "0"}
WHAT_IF = {"without": "", "promised": "", "seconds": "5", **ROWS}
#: Page, method, what is sent, who may.
PAGES = [
    ("list", "get", {}, EVERYONE),
    ("one", "get", {}, EVERYONE),
    ("orders", "get", {}, EVERYONE),
    ("plates", "get", {"show": "retuned"}, EVERYONE),
    ("shortages", "get", {}, EVERYONE),
    ("order", "get", {}, EVERYONE),
    ("what-if", "get", {}, PLANNING),
    ("what-if", "post", {**WHAT_IF, "without": "W-0"}, PLANNING),
    ("start", "post", {"seconds": "5"}, PLANNING),
    ("set-aside", "post", {"all": "yes"}, PLANNING),
    ("undo", "post", {}, PLANNING),
    ("pin", "post", {"pinned": "yes"}, PLANNING),
    ("give-back", "post", {}, PLANNING),
]
POSTS = [each for each in PAGES if each[1] == "post"]


@pytest.fixture
def made():
    """Two orders whose plates are set aside, and a newer plan with a third, which waits."""
    a_set("C", 2, cents=-12)
    an_order("W-0", value=9)
    an_order("W-1", value=8)
    actions.set_aside(somebody(), a_plan())
    an_order("W-2", value=3)
    return a_plan()


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


def address(page, made):
    about = {
        "list": [], "what-if": [], "start": [], "order": ["W-0"], "give-back": ["W-0"],
        "pin": [Taken.objects.order_by("pk").values_list("pk", flat=True).first()],
    }  # fmt: skip
    return reverse(f"plans:{page}", args=about.get(page, [made.pk]))


def text(response):
    bare = re.sub(r"<[^>]*>", " ", response.content.decode())
    return " ".join(html.unescape(bare).split())


def state():
    models = (MadePlan, Taken, Bin, Order, Job)
    return [list(m.objects.order_by("pk").values()) for m in models]


def test_no_page_is_missing_from_the_table():
    assert {page for page, *_ in PAGES} == {each.name for each in urls.urlpatterns}


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize(("page", "method", "sent", "who"), PAGES)
def test_each_role_sees_its_pages_and_no_others(client, made, role, page, method, sent, who):
    client.force_login(somebody(role))
    before = state()
    answer = getattr(client, method)(address(page, made), sent)
    if role in who:
        assert answer.status_code in (200, 302, 409)
    else:
        assert answer.status_code == 403
        assert state() == before


@pytest.mark.parametrize(("page", "method", "sent", "who"), PAGES)
def test_nobody_gets_in_without_logging_in(client, made, page, method, sent, who):
    answer = getattr(client, method)(address(page, made), sent)
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/people/login/")


@pytest.mark.parametrize(("page", "method", "sent", "who"), POSTS)
def test_a_form_from_elsewhere_is_refused(made, page, method, sent, who):
    client = Client(enforce_csrf_checks=True)
    client.force_login(somebody("maker"))
    before = state()
    assert client.post(address(page, made), sent).status_code == 403
    assert state() == before


@pytest.mark.parametrize("page", ["start", "set-aside", "undo", "pin", "give-back"])
def test_what_changes_something_is_never_done_by_a_link(maker, made, page):
    assert maker.get(address(page, made)).status_code == 405


@pytest.mark.parametrize(
    "page", ["list", "one", "orders", "plates", "shortages", "order", "what-if"]
)
def test_looking_changes_nothing(maker, made, page):
    before = state()
    maker.get(address(page, made), {"show": "retuned"})
    assert state() == before


def test_a_plan_is_begun_once_and_its_job_is_shown(maker, made):
    first = maker.post(reverse("plans:start"), {"seconds": "7"})
    job = Job.objects.get()
    assert (job.kind, job.arguments, job.single) == ("plan", {"seconds": 7.0}, "plan")
    assert first.headers["Location"] == reverse("jobs:one", args=[job.pk])
    owner = Client()
    owner.force_login(somebody("owner"))
    again = owner.post(reverse("plans:start"), {"seconds": "7"}, follow=True)
    assert "A plan is being made already: this is it." in text(again)
    assert Job.objects.count() == 1


@pytest.mark.parametrize("seconds", ["", "0", "601", "soon"])
def test_how_long_it_may_take_is_checked(maker, seconds):
    answer = maker.post(reverse("plans:start"), {"seconds": seconds})
    assert answer.status_code == 422
    assert not Job.objects.exists()


def test_a_plan_says_in_words_how_good_it_is_and_what_is_missing(maker, made):
    page = text(maker.get(address("one", made)))
    assert "2 of 3 orders can be built in full." in page
    assert "17 · proven: no plan can ship more" in page
    assert "no plan of this value costs less than" in page
    assert "2 are ready" in page
    assert "1 waits" in page
    assert made.shortages.first().text in page
    assert "No order is newly ready" in page
    assert "This plan is old" not in page
    assert '<svg class="lacking"' in maker.get(address("one", made)).content.decode()
    waiting = text(maker.get(address("orders", made), {"show": "waiting"}))
    assert made.shortages.first().text in waiting
    assert "W-2" in waiting


@pytest.mark.parametrize(
    ("sent", "numbers"),
    [
        ({}, ["W-0", "W-1", "W-2"]),
        ({"text": "w-1"}, ["W-1"]),
        ({"show": "waiting"}, ["W-2"]),
        ({"show": "ready", "text": "0"}, ["W-0"]),
        ({"show": "new"}, []),
        ({"show": "lost"}, []),
        ({"show": "arriving"}, []),
        ({"show": "nonsense"}, ["W-0", "W-1", "W-2"]),
    ],
)
def test_a_plans_orders_are_found_by_number_and_by_what_it_says(maker, made, sent, numbers):
    page = maker.get(address("orders", made), sent)
    assert [row.order_id for row in page.context["rows"]] == numbers


def test_a_plan_that_is_not_proven_says_how_far_it_may_be_off(maker, made):
    made.head |= {"proven": False, "value_bound": 20, "gap": 0.15}
    made.save()
    page = text(maker.get(address("one", made)))
    assert "no plan can ship more than 20, 15.00 % above this one" in page
    assert "proven" not in page


def test_retuned_plates_are_listed_with_their_cents(maker, made):
    page = text(maker.get(address("plates", made), {"show": "retuned"}))
    assert "40 plates" in page
    assert "+12.0 cents, file" in page
    of_one = text(maker.get(address("plates", made), {"order": "W-0"}))
    assert "20 plates" in of_one
    assert maker.get(address("plates", made)).status_code == 404
    assert maker.get(address("plates", made), {"show": "x"}).status_code == 404


def test_setting_aside_and_undoing_by_clicks(maker):
    a_set("C", 2)
    an_order("W-0")
    an_order("W-1")
    made = a_plan()
    page = maker.post(address("set-aside", made), {"order": ["W-1"]}, follow=True)
    assert "Done: plates are set aside for 1 order." in text(page)
    assert Order.objects.get(number="W-1").state == State.ASIDE
    order_page = text(maker.get(reverse("plans:order", args=["W-1"])))
    assert "20 plates, seat by seat" in order_page
    undone = maker.post(address("undo", made), follow=True)
    assert "Done: 1 order gave its plates back." in text(undone)
    again = maker.post(address("undo", made))
    assert again.status_code == 409
    assert "sets nothing aside" in text(again)


def test_who_comes_second_is_told_what_changed_and_keeps_the_ticks(maker):
    a_set("C", 2)
    an_order("W-0")
    an_order("W-1")
    first, second = a_plan(), a_plan()
    actions.set_aside(somebody(), first)
    answer = maker.post(address("set-aside", second), {"order": ["W-1"]})
    assert answer.status_code == 409
    assert "Order W-1 was changed." in text(answer)
    assert re.search(r'value="W-1" id="tick-\d" checked', answer.content.decode())
    assert "Order W-0 was changed. Order W-1 was changed." in text(
        maker.post(address("set-aside", second), {"all": "yes"})
    )
    assert "2 orders of it were changed." in text(maker.get(address("one", second)))


def test_an_order_that_waits_for_plates_to_arrive_has_no_tick(maker):
    day = date(2099, 1, 1)
    an_order("W-0", due=day)
    made = a_plan(expected=tuple(bins_of_set("C", 1, day, Decimal(1))))
    page = maker.get(address("orders", made))
    assert "The last arrive on Jan. 1, 2099; it cannot be set aside for yet." in text(page)
    assert 'type="checkbox"' not in page.content.decode()
    refused = maker.post(address("set-aside", made), {"order": ["W-0"]})
    assert refused.status_code == 409
    assert "waits for plates that arrive on" in text(refused)


def test_pinning_and_giving_back_by_clicks(maker, made):
    plate = Taken.objects.filter(order__number="W-0").first()
    page = maker.post(address("pin", made), {"pinned": "yes"}, follow=True)
    assert f"{plate.place} is pinned" in text(page)
    plate.refresh_from_db()
    assert plate.pinned
    maker.post(address("pin", made), {"pinned": "no"})
    plate.refresh_from_db()
    assert not plate.pinned
    stale = maker.post(address("give-back", made), {"version": "1"})
    assert stale.status_code == 409
    assert "was changed by somebody else meanwhile" in text(stale)
    order = Order.objects.get(number="W-0")
    page = maker.post(address("give-back", made), {"version": order.version}, follow=True)
    assert "Done: order W-0 gave its plates back." in text(page)
    assert "No plate is set aside for this order." in text(page)
    assert maker.post(address("give-back", made)).status_code == 409


def test_held_plates_are_told_on_the_plans_and_the_orders_page(maker, made):
    rack.hold(Batch.objects.get(), "sharp rivets")
    plan = Taken.objects.first().plan
    assert "40 plates that it set aside are held now" in text(maker.get(address("one", plan)))
    assert "20 plates set aside for it are held" in text(maker.get(address("order", made)))


def test_what_if_asks_for_a_plan_with_all_that_was_typed(maker, made):
    sent = {
        **WHAT_IF, "without": "W-0, W-1", "promised": "W-2\n",
        "sets-0-key": "C", "sets-0-sets": "2", "sets-0-arrives": "2099-01-01",
        "sets-0-cost": "1.50",
    }  # fmt: skip
    assert maker.post(reverse("plans:what-if"), sent).status_code == 302
    assert Job.objects.get().arguments == {
        "without": ["W-0", "W-1"], "promised": ["W-2"], "seconds": 5.0,
        "sets": [{"key": "C", "sets": 2, "arrives": "2099-01-01", "cost": "1.50"}],
    }  # fmt: skip
    other = maker.post(reverse("plans:what-if"), {**WHAT_IF, "without": "W-0"})
    assert other.status_code == 409
    assert "Another plan is being made" in text(other)
    assert ">\nW-0</textarea>" in other.content.decode()


ROW = {"sets-0-key": "C", "sets-0-sets": "2", "sets-0-arrives": "2099-01-01"}


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({}, "Say what is to be different"),
        ({"without": "W-9"}, "No order W-9 is open or has plates set aside"),
        ({"without": "W-1", "promised": "W-1"}, "cannot be promised"),
        ({**ROW, "sets-0-key": "H"}, "H"),
        ({**ROW, "sets-0-sets": "0"}, "greater than or equal to 1"),
        ({**ROW, "sets-0-arrives": "2001-01-01"}, "That day is over"),
        ({**ROW, "sets-0-cost": "-1"}, "greater than or equal to 0"),
        ({"sets-0-key": "C"}, "This field is required"),
        ({**ROW, **{k.replace("0", "1", 1): v for k, v in ROW.items()}}, "stand in two rows"),
    ],
)
def test_a_what_if_that_cannot_be_is_told_and_kept(maker, made, wrong, why):
    answer = maker.post(reverse("plans:what-if"), {**WHAT_IF, **wrong})
    assert answer.status_code == 422
    assert why in text(answer)
    for value in wrong.values():
        assert value in answer.content.decode()
    assert not Job.objects.exists()


def test_more_rows_keep_what_was_typed(maker):
    sent = {**WHAT_IF, **ROW, "promised": "W-7", "sets-0-sets": "x", "more": "yes"}
    answer = maker.post(reverse("plans:what-if"), sent)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert 'name="sets-3-key"' in page
    assert 'name="sets-0-sets" value="x"' in page
    assert ">\nW-7</textarea>" in page
    assert "notice error" not in page


def test_a_what_if_shows_its_effect(maker, made):
    promised = a_plan(without=frozenset({"W-0"}))
    page = text(maker.get(address("one", promised)))
    assert "Left out: W-0." in page
    assert f"Against plan {made.pk} of the same shop" in page
    assert "Ready only here W-2" in page
    assert "Ready only there W-0" in page
    assert "Value -6" in page


def asked(client, where, **sent):
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(where, sent)
        count = len(queries)
    assert answer.status_code == 200
    return count


def questions(client, plan, order):
    pages = [
        ("list", {}), ("one", {}), ("orders", {}), ("orders", {"show": "waiting"}),
        ("plates", {"show": "retuned"}), ("shortages", {}), ("what-if", {}),
    ]  # fmt: skip
    counted = [asked(client, address(page, plan), **sent) for page, sent in pages]
    return [*counted, asked(client, reverse("plans:order", args=[order]))]


def test_pages_ask_a_constant_number_of_questions(maker, made):
    few = questions(maker, made, "W-0")
    for n in range(60):
        an_order(f"X-{n}", value=50, kit="5 draw" if n % 2 else "")
    an_order("X-Y", value=90, quantity=4)
    a_set("C", 58, batch="b9", cents=-12)
    large = a_plan()
    actions.set_aside(somebody(), a_plan())
    for _ in range(3):
        a_plan()
    assert PlanOrder.objects.filter(plan=large).count() == 64
    assert Taken.objects.filter(order__number="X-Y").count() > 50
    assert large.waiting > 1
    assert questions(maker, large, "X-Y") == few
    assert max(few) <= 16
