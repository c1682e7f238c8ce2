"""What the day's page tells each role to do next, in one look."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from combwright.shop.bench import building, picking
from combwright.shop.counting.actions import start
from combwright.shop.counting.queries import Scope
from combwright.shop.jobs.models import Job
from combwright.shop.orders import actions as order_actions
from combwright.shop.orders.models import Order, Step, Wish
from combwright.shop.orders.states import State
from combwright.shop.people.roles import May, Role, allowed
from combwright.shop.plans import actions as plan_actions
from combwright.shop.plans.models import Taken
from combwright.shop.rack.actions import hold
from combwright.shop.rack.models import Batch, Bin
from combwright.shop.today.day import WORK, day_of, first_step
from combwright.shop.today.ways import way
from shop.plans.days import a_plan, a_set, an_order
from shop.rack.shelves import a_bin, somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def days(n):
    return timezone.localdate() + timedelta(days=n)


def at(number, state, **more):
    """Return an order that is said to be in a state, without the plates it would have."""
    order = an_order(number, **more)
    Order.objects.filter(pk=order.pk).update(state=state)
    return order


def counted():
    """Have all bins counted, so that they are no work for anybody."""
    Bin.objects.update(counted_at=timezone.now())


def section(name, role="owner"):
    return next((each for each in day_of(somebody(role)).sections if each.name == name), None)


def words(found):
    return [each.words for each in found.lines]


def remarks(found):
    return [each.remark for each in found.lines]


class TestSections:
    def test_orders_due_soon_or_overdue_stand_with_the_earliest_first(self):
        for number, due in (("far", 8), ("soon", 7), ("late", -2), ("today", 0), ("none", None)):
            an_order(number, due=None if due is None else days(due))
        at("gone", "sent", due=days(-9))
        found = section("due")
        assert words(found) == ["late", "today", "soon"]
        assert [each.over for each in found.lines] == [True, False, False]
        assert (found.count, found.remark) == (3, "1 is overdue.")

    def test_orders_stand_where_they_are_on_their_way(self):
        for number, state in (
            ("A", "aside"), ("P", "picking"), ("B", "bench"), ("F", "built"), ("X", "cancelled"),
        ):  # fmt: skip
            at(number, state)
        found = {name: words(section(name)) for name in ("pick", "picking", "bench", "send")}
        assert found == {"pick": ["A"], "picking": ["P"], "bench": ["B"], "send": ["F"]}

    def test_it_says_how_many_plates_are_picked_and_seats_filled(self):
        a_set("C", 3)
        orders = [an_order("W-1"), an_order("W-2", kit="5 draw")]
        plan_actions.set_aside(somebody(), a_plan())
        picking.begin(somebody(), orders)
        of_one = list(Taken.objects.filter(order=orders[0]))
        for each in of_one[:7]:
            picking.pick(somebody(), each)
        picking.not_there(somebody(), of_one[7])
        assert remarks(section("picking"))[0] == "7 of 20 plates picked"
        for each in Taken.objects.filter(order=orders[1], state=Taken.ASIDE):
            picking.pick(somebody(), each)
        assert remarks(section("picking"))[1:] == ["21 of 21 plates picked"]
        picking.to_the_bench(somebody(), orders[1])
        for each in Taken.objects.filter(order=orders[1]).exclude(place__startswith="kit")[:3]:
            building.fit(somebody(), each)
        assert remarks(section("bench")) == ["3 of 20 seats filled"]

    def test_orders_that_no_plan_knows_wait_for_one(self):
        a_set("C", 1)
        assert section("unplanned") is None
        an_order("W-1")
        assert words(section("unplanned")) == ["W-1"]
        a_plan()
        assert section("unplanned") is None
        an_order("W-2")
        assert words(section("unplanned")) == ["W-2"]

    def test_it_says_for_which_plates_orders_wait(self):
        a_set("C", 1)
        an_order("W-1")
        an_order("W-2")
        made = a_plan()
        found = section("waiting")
        assert found.count == 1
        assert words(found) == [each.text for each in made.shortages.all()][:5]
        assert found.lines[0].remark == "1 order waits for it"
        order_actions.back_to_draft(Order.objects.get(number=waiting_in(made)), somebody())
        assert section("waiting") is None

    def test_promises_without_plates_are_in_danger(self):
        an_order("calm")
        an_order("far", due=days(30))
        assert section("danger") is None
        an_order("promised", promised=True, due=days(30))
        an_order("soon", due=days(3))
        at("aside", "aside", due=days(1), promised=True)
        at("bench", "bench", due=days(1), promised=True)
        found = section("danger")
        assert words(found) == ["soon", "promised"]
        assert remarks(found) == ["due soon, and open", "promised, and open"]

    def test_so_are_those_that_the_newest_plan_would_take_plates_from(self):
        a_set("C", 1)
        an_order("soon", due=days(3))
        plan_actions.set_aside(somebody(), a_plan())
        assert section("danger") is None
        an_order("dear", value=100, due=days(30))
        assert a_plan().orders.get(order="soon").ready is False
        found = section("danger")
        assert (words(found), found.count) == (["soon"], 1)
        assert remarks(found) == ["due soon, but the newest plan lets it wait"]

    def test_bins_to_count_are_those_of_the_open_round_or_those_never_counted(self):
        for n in range(4):
            a_bin(f"A-{n}", 2)
        a_bin("empty")
        found = section("count")
        assert (found.count, found.act.address) == (4, "/counting/")
        made = start(somebody(), 2, Scope())
        found = section("count")
        assert (found.count, remarks(found)) == (2, ["0 of 2 counted"])
        assert found.act.address == f"/counting/{made.pk}/next/"

    def test_held_batches_stand_with_their_reason(self):
        a_bin("A-1", 1, batch="b7")
        hold(Batch.objects.get(code="b7"), "rivets to be looked at")
        found = section("held")
        assert (words(found), remarks(found)) == (["b7"], ["rivets to be looked at"])
        assert found.act is not None
        assert section("held", "packer").act is None

    def test_jobs_that_failed_are_told_to_those_who_see_them_for_a_week(self):
        a_bin("A-1")
        job = Job.objects.create(
            kind="plan", made_by=somebody("maker"), state=Job.FAILED, error="out of luck",
            finished_at=timezone.now(),
        )  # fmt: skip
        assert remarks(section("jobs", "maker")) == ["out of luck"]
        assert section("jobs", "packer") is None
        assert section("jobs", "office").count == 1
        Job.objects.filter(pk=job.pk).update(finished_at=timezone.now() - timedelta(days=8))
        assert section("jobs", "maker") is None

    def test_a_backup_that_is_overdue_is_told_to_the_owner_alone(self, settings):
        a_bin("A-1")
        assert "none is made by itself" in section("backup").remark
        assert section("backup", "office") is None
        made = Job.objects.create(kind="backup", state=Job.DONE, finished_at=timezone.now())
        assert section("backup") is None
        Job.objects.filter(pk=made.pk).update(finished_at=timezone.now() - timedelta(days=9))
        assert "9 days ago" in section("backup").remark
        settings.PRACTICE = True
        assert section("backup") is None

    def test_only_the_first_few_stand_there_and_the_rest_is_counted(self):
        for n in range(8):
            an_order(f"W-{n}", due=days(n - 8))
        found = section("due")
        assert (len(found.lines), found.count, found.more) == (5, 8, 3)
        assert words(found)[0] == "W-0"


def waiting_in(made):
    return made.orders.get(ready=False).order_id


class TestWhatIsNext:
    def set_up_a_day(self):
        a_bin("A-1", 1)
        at("A", "aside")
        at("P", "picking")
        at("B", "bench")
        at("F", "built")
        an_order("O", due=days(20))
        Job.objects.create(kind="backup", state=Job.DONE, finished_at=timezone.now())

    @pytest.mark.parametrize(
        ("role", "label"),
        [
            ("maker", "Go on building order B"),
            ("packer", "Send order F"),
            ("office", "Plan the open orders"),
            ("owner", "Send order F"),
        ],
    )
    def test_each_role_begins_with_its_own_work(self, role, label):
        self.set_up_a_day()
        assert day_of(somebody(role)).next.act.label == label

    @pytest.mark.parametrize("role", ["maker", "packer", "owner"])
    def test_what_is_overdue_comes_first_of_all(self, role):
        self.set_up_a_day()
        at("late", "aside", due=days(-1))
        assert day_of(somebody(role)).next.act.label == "Begin to pick order late"

    def test_the_office_looks_at_an_overdue_order_that_has_no_plates(self):
        self.set_up_a_day()
        an_order("late", due=days(-1))
        found = day_of(somebody("office")).next
        assert (found.name, found.act.label) == ("danger", "Plan the open orders")

    @pytest.mark.parametrize("role", list(Role))
    def test_nobody_is_told_to_do_what_they_may_not(self, role):
        self.set_up_a_day()
        rights = {
            "pick": May.PICK, "picking": May.PICK, "bench": May.BUILD, "send": May.SEND,
            "unplanned": May.PLAN, "waiting": May.PLAN, "count": May.COUNT, "held": May.HOLD,
            "backup": May.BACKUP,
        }  # fmt: skip
        for each in day_of(somebody(role)).sections:
            if each.name in rights and not allowed(role, rights[each.name]):
                assert each.act is None, each.name

    @pytest.mark.parametrize("role", list(Role))
    def test_the_page_has_one_button_to_do_next(self, client, role):
        self.set_up_a_day()
        client.force_login(somebody(role))
        page = client.get("/today/").content.decode()
        assert len(re.findall('class="button next"', page)) == 1
        assert page.index("Do this next") < page.index('class="cards close"')

    def test_where_nothing_waits_it_says_so(self, client):
        a_bin("A-1")
        client.force_login(somebody("packer"))
        page = client.get("/today/").content.decode()
        assert "Nothing waits for you." in page
        assert "button next" not in page

    def test_every_role_has_its_work(self):
        assert set(WORK) == set(Role)
        for names in WORK.values():
            assert len(set(names)) == len(names)


@pytest.mark.parametrize(
    ("role", "address"),
    [
        ("packer", "/rack/bins/new/"),
        ("maker", "/rack/sets/receive/"),
        ("owner", "/rack/sets/receive/"),
        ("office", "/orders/new/"),
    ],
)
def test_an_empty_shop_begins_with_one_friendly_step(client, role, address):
    client.force_login(somebody(role))
    page = client.get("/today/").content.decode()
    assert re.findall(r'class="button next" href="([^"]*)"', page) == [address]
    assert client.get(address).status_code == 200
    a_bin("A-1")
    assert first_step(somebody(role)) is None


def test_the_shop_begins_here(client):
    client.force_login(somebody())
    assert client.get("/").headers["Location"] == "/today/"
    assert client.get("/people/login/").headers["Location"] == "/today/"


def test_a_room_that_is_not_there_has_no_address_and_one_of_a_list_is_enough():
    assert way("nowhere:one", 3) == ""
    assert way("counting:rounds", 3) == "/counting/"
    assert way("jobs:one", 3) == "/jobs/3/"
    with pytest.raises(NoReverseMatch):
        reverse("nowhere:one")


def test_what_is_typed_into_an_order_is_no_part_of_the_page(client):
    client.force_login(somebody())
    an_order("<b>W</b>", due=days(-1))
    page = client.get("/today/").content.decode()
    assert "<b>W</b>" not in page
    assert "&lt;b&gt;W&lt;/b&gt;" in page


def fill(many):
    """Make many orders in all states, by the hundred."""
    known = Order.objects.count()
    states = list(State)
    orders = Order.objects.bulk_create(
        Order(
            number=f"N-{n}", state=states[n % len(states)].value, priority=1 + n % 9,
            promised=n % 11 == 0, due=days(n % 60 - 20) if n % 3 else None,
        )
        for n in range(known, known + many)
    )  # fmt: skip
    Wish.objects.bulk_create(Wish(order=each, row=1) for each in orders)
    Step.objects.bulk_create(Step(order=each, words="made") for each in orders)


@pytest.mark.parametrize("role", list(Role))
def test_the_page_asks_the_same_few_questions_however_much_there_is(client, role):
    a_set("C", 1)
    an_order("W-1")
    an_order("W-2")
    client.force_login(somebody(role))
    a_plan()

    def asked():
        with CaptureQueriesContext(connection) as queries:
            assert client.get("/today/").status_code == 200
        return len(queries)

    fill(90)
    few = asked()
    fill(900)
    for n in range(20):
        a_bin(f"more-{n}", 1, batch=f"batch {n}")
    assert asked() == few
    assert few <= 32


def test_sections_find_their_orders_by_an_index(client):
    """SQLite says how it would look, whatever the size; it never reads all orders."""
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL reads a small table whole, and rightly.")
    an_order("W-1", due=days(-1))
    client.force_login(somebody())
    with CaptureQueriesContext(connection) as queries:
        client.get("/today/")
    asked = [q["sql"] for q in queries if 'FROM "orders_order"' in q["sql"]]
    assert len(asked) >= 6
    for sql in asked:
        if sql.startswith("SELECT 1 AS"):
            continue  # whether there is any order at all
        with connection.cursor() as cursor:
            cursor.execute("EXPLAIN QUERY PLAN " + sql.replace("%", "%%"))
            steps = [row[3] for row in cursor.fetchall()]
        assert not [each for each in steps if each.startswith("SCAN orders_order")], (sql, steps)


def test_a_plan_is_asked_for_one_order_by_an_index(client):
    """Else each of some thousand orders would have all rows of the newest plan read."""
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL reads a small table whole, and rightly.")
    a_set("C", 1)
    an_order("W-1", due=days(1))
    a_plan()
    client.force_login(somebody())
    with CaptureQueriesContext(connection) as queries:
        client.get("/today/")
    asked = [q["sql"] for q in queries if 'FROM "plans_planorder" U0' in q["sql"]]
    assert len(asked) >= 2
    for sql in asked:
        with connection.cursor() as cursor:
            cursor.execute("EXPLAIN QUERY PLAN " + sql.replace("%", "%%"))
            steps = [row[3] for row in cursor.fetchall()]
        assert [each for each in steps if "(plan_id=? AND order_id=?)" in each], (sql, steps)
