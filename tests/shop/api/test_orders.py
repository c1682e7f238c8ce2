"""Orders that programs send, follow and cancel; the same order sent twice is one."""

import json
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection, connections
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from combwright.shop.api.models import Answered
from combwright.shop.api.once import REPLAYED
from combwright.shop.api.order_words import _moment
from combwright.shop.orders.models import Customer, Order, Step, Wish
from combwright.shop.plans import actions as plan_actions
from combwright.shop.plans.faults import faults
from combwright.shop.plans.models import MadePlan
from combwright.shop.rack.models import Bin
from combwright.shop.rack.queries import ledger_faults
from shop.api.programs import Program, a_program, a_token, problem, somebody
from shop.api.whole_orders import an_order_on_the_bench
from shop.plans.days import a_plan, a_set, an_order

pytestmark = [pytest.mark.django_db, pytest.mark.data]
WISH = {"key": "A", "layout": "standard"}
ORDER = {
    "outer_key": "web-7",
    "customer": {"name": "Ada Rowe", "email": "ada@rowe.example", "address": "1 Mill Lane\nRye"},
    "due": "2027-03-01",
    "priority": 2,
    "value": "150.00",
    "price": "189.90",
    "promised": True,
    "note": "a gift",
    "wishes": [
        {**WISH, "quantity": 2, "changes": "5 draw=D#5", "temperament": "7-limit", "a4": 442.5},
        {"what": "plates", "key": "C", "layout": "standard", "kit": "5 draw; 4 draw"},
    ],
}


class TestSendingIn:
    def test_an_order_is_what_was_sent_and_is_open_at_once(self):
        told = a_program().post("/orders", ORDER).json()
        order = Order.objects.get()
        assert (told["order"], told["state"], told["outer_key"]) == (order.number, "open", "web-7")
        assert (order.due, order.priority, order.promised) == (date(2027, 3, 1), 2, True)
        assert (order.value, order.price, order.note) == (
            Decimal("150.00"), Decimal("189.90"), "a gift",
        )  # fmt: skip
        assert order.customer.address == "1 Mill Lane\nRye"
        assert order.made_by == somebody()
        first, second = order.wishes.order_by("row")
        assert (first.quantity, first.changes, first.temperament, first.a4) == (
            2, "5 draw=D#5", "7-limit", Decimal("442.50"),
        )  # fmt: skip
        assert (second.what, second.kit) == (Wish.PLATES, "5 draw; 4 draw")
        assert [each["a4"] for each in told["wishes"]] == [442.5, 440.0]
        assert [each["state"] for each in told["steps"]] == ["open", ""]

    def test_a_draft_stays_out_of_plans(self):
        told = a_program().post("/orders", {"wishes": [WISH], "draft": True}).json()
        assert told["state"] == "draft"

    def test_a_number_of_ones_own_is_kept_and_one_that_is_taken_is_refused(self):
        program = a_program()
        assert program.post("/orders", {"order": "X/1", "wishes": [WISH]}).json()["order"] == "X/1"
        told = problem(program.post("/orders", {"order": "X/1", "wishes": [WISH]}), 409, "refused")
        assert "X/1" in told["detail"]
        assert program.get("/orders/X%2F1").json()["order"] == "X/1"

    def test_the_same_order_sent_twice_is_one(self):
        program = a_program()
        first = program.post("/orders", ORDER, key="a")
        again = program.post("/orders", ORDER, key="a")
        other = program.post("/orders", ORDER, key="b")
        assert {each.status_code for each in (first, again, other)} == {201}
        assert again.headers[REPLAYED] == "true"
        assert REPLAYED not in other.headers
        assert len({each.json()["order"] for each in (first, again, other)}) == 1
        assert (Order.objects.count(), Customer.objects.count()) == (1, 1)
        assert Step.objects.count() == 2

    def test_another_order_under_the_same_outer_key_is_refused(self):
        program = a_program()
        program.post("/orders", ORDER)
        answer = program.post("/orders", {**ORDER, "priority": 1})
        assert "web-7" in problem(answer, 409, "refused")["detail"]
        assert Order.objects.get().priority == 2

    def test_a_customer_is_known_again_and_no_address_is_changed_unseen(self):
        program = a_program()
        for n, customer in enumerate(
            [
                ORDER["customer"],
                {"name": "Ada Rowe", "email": "ADA@rowe.example"},
                {"name": "Ada Rowe", "email": "ada@rowe.example", "address": "elsewhere"},
                {"name": "Ada Rowe"},
            ]
        ):
            body = {**ORDER, "outer_key": f"k{n}", "customer": customer}
            assert program.post("/orders", body).status_code == 201
        one, two, three, four = (each.customer for each in Order.objects.order_by("pk"))
        assert one == two
        assert len({one, three, four}) == 3
        assert one.address == "1 Mill Lane\nRye"

    def test_every_fault_of_every_wish_is_told_at_its_place_and_nothing_is_done(self):
        program = a_program()
        wishes = [
            {"key": "H", "layout": "nowhere"},
            WISH,
            {**WISH, "changes": "11 draw=F#5"},
            {"what": "plates", **WISH},
            {**WISH, "temperament": "sweet", "comb": "nothing", "kit": "5 blew"},
        ]
        body = {**ORDER, "wishes": wishes}
        told = problem(program.post("/orders", body, key="k"), 409, "bad-wish")
        assert [each["pointer"] for each in told["errors"]] == [
            "#/wishes/0/key", "#/wishes/0/layout", "#/wishes/2/changes", "#/wishes/3/kit",
            "#/wishes/4/kit", "#/wishes/4/temperament", "#/wishes/4/comb",
        ]  # fmt: skip
        assert "nowhere" in told["errors"][1]["detail"]
        assert all("\n" not in each["detail"] for each in told["errors"])
        assert not Order.objects.exists()
        assert not Customer.objects.exists()
        assert not Answered.objects.exists()
        assert program.post("/orders", ORDER, key="k").status_code == 201

    @pytest.mark.parametrize(
        ("change", "pointer"),
        [
            ({"due": "2027-02-30"}, "#/due"),
            ({"due": 5}, "#/due"),
            ({"value": "-1"}, "#/value"),
            ({"wishes": []}, "#/wishes"),
            ({"customer": {"name": "x", "email": "no email"}}, "#/customer/email"),
            ({"promissed": True}, "#/promissed"),
            ({"wishes": [{**WISH, "quantity": 0}]}, "#/wishes/0/quantity"),
        ],
    )
    def test_what_is_wrong_in_itself_is_told_at_its_place(self, change, pointer):
        told = problem(a_program().post("/orders", {**ORDER, **change}), 422, "invalid")
        assert [each["pointer"] for each in told["errors"]] == [pointer]
        assert not Order.objects.exists()

    def test_who_may_not_order_may_not(self):
        problem(a_program("maker").post("/orders", ORDER), 403, "not-allowed")
        problem(a_program("packer").get("/orders"), 403, "not-allowed")


@pytest.mark.django_db(transaction=True)
def test_of_many_who_send_the_same_order_at_once_one_makes_it():
    text = a_token()[1]

    def one_hand(n):
        try:
            program, answers = Program(text), []
            for turn in range(3):
                # Who came too close on the other's heels is told to repeat, and does.
                for _again in range(20):
                    body = {**ORDER, "outer_key": f"web-{turn}"}
                    answer = program.post("/orders", body, key=f"{n}-{turn}")
                    if answer.status_code == 201:
                        break
                    problem(answer, 409, "crossed")
                answers.append(answer)
            return answers
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(one_hand, range(4)))
    for of_one_key in zip(*answers, strict=True):
        assert {each.status_code for each in of_one_key} == {201}
        assert len({each.json()["order"] for each in of_one_key}) == 1
    assert Order.objects.count() == 3


class TestFollowing:
    def test_orders_are_listed_part_by_part(self):
        made = [an_order(f"W-{n}").number for n in range(5)]
        program, seen, after = a_program(), [], 0
        while after is not None:
            told = program.get("/orders", {"limit": 2, "after": after}).json()
            seen += [each["order"] for each in told["orders"]]
            after = told["next"]
        assert seen == made

    def test_orders_are_found_by_state_and_by_when_they_changed(self):
        an_order("W-1")
        an_order("W-2")
        a_program().post("/orders/W-1/cancel", {"because": "no longer wanted"})
        long_ago = timezone.now() - timedelta(days=1)
        Step.objects.filter(order__number="W-2").update(at=long_ago)

        def found(**asked):
            return [each["order"] for each in a_program().get("/orders", asked).json()["orders"]]

        assert found(state="cancelled") == ["W-1"]
        assert found(state="open") == ["W-2"]
        hour_ago = (timezone.now() - timedelta(hours=1)).isoformat()
        assert found(changed_since=hour_ago) == ["W-1"]
        assert found(changed_since=long_ago.isoformat()) == ["W-1", "W-2"]
        assert found(changed_since=hour_ago, state="open") == []
        for wrong in ("yesterday", "2026-13-01T00:00:00Z", "5"):
            problem(a_program().get("/orders", {"changed_since": wrong}), 422, "invalid")

    @pytest.mark.parametrize(
        ("text", "moment"),
        [
            # The examples of the standard's section 5.8 [rfc3339].
            ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, tzinfo=UTC)),
            ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)),
            ("1990-12-31T23:59:60Z", datetime(1990, 12, 31, 23, 59, 59, tzinfo=UTC)),
            ("0001-01-01T00:00:00+23:59", datetime(1970, 1, 1, tzinfo=UTC)),
            ("9999-12-31T23:59:59-23:59", datetime(9999, 1, 1, tzinfo=UTC)),
        ],
    )
    def test_moments_are_read_as_the_standard_writes_them(self, text, moment):
        assert _moment(text) == moment

    def test_an_order_is_shown_with_its_plates_and_instrument(self):
        there = an_order_on_the_bench("W-1")
        told = a_program().get("/orders/W-1").json()
        assert told["state"] == "bench"
        assert len(told["taken"]) == 20
        assert sorted({each["state"] for each in told["taken"]}) == ["fitted", "picked"]
        assert [each["serial"] for each in told["instruments"]] == [there["serial"]]
        assert [each["state"] for each in told["steps"] if each["state"]] == [
            "bench", "picking", "aside", "open",
        ]  # fmt: skip
        made = a_program("packer").get(f"/instruments/{there['serial']}").json()
        assert [(each["hole"], each["bin"][:5]) for each in made["plates"]] == [(1, "b1-A-")]
        listed = a_program().get("/instruments").json()["instruments"]
        assert listed == [{k: v for k, v in made.items() if k != "plates"}]

    @pytest.mark.parametrize("path", ["/orders/none", "/plans/99", "/instruments/none"])
    def test_what_is_not_there_is_not_there(self, path):
        problem(a_program().get(path), 404, "not-there")
        if path == "/orders/none":
            problem(a_program().post(f"{path}/cancel", {"because": "x"}), 404, "not-there")

    def test_a_plan_is_told_as_the_command_line_writes_it(self):
        a_set("C", 1)
        an_order("W-1")
        an_order("W-2")
        made = a_plan()
        told = a_program("maker").get(f"/plans/{made.pk}").json()
        assert (told["ready"], told["waiting"], told["set_aside_at"]) == (1, 1, None)
        assert told["answer"] == json.loads(json.dumps(MadePlan.objects.get().answer))
        assert {"schema", "orders", "shortages"} <= set(told["answer"])
        listed = a_program("office").get("/plans").json()
        assert listed == {
            "plans": [{k: v for k, v in told.items() if k != "answer"}], "next": None,
        }  # fmt: skip

    def test_lists_and_one_order_ask_the_same_few_questions_however_much_there_is(self):
        program = a_program()
        a_set("C", 3)

        def counts():
            numbers = []
            for path in ("/orders", "/orders?state=open", "/orders/W-0", "/plans", "/instruments"):
                with CaptureQueriesContext(connection) as queries:
                    assert program.get(path).status_code == 200
                numbers.append(len(queries))
            return numbers

        an_order("W-0")
        a_plan()
        program.get("/orders")  # the token's use is noted once a minute
        few = counts()
        for n in range(1, 12):
            an_order(f"W-{n}")
        plan_actions.set_aside(somebody(), a_plan())
        a_plan()
        assert counts() == few
        assert max(few) <= 8


class TestCancelling:
    def test_everything_goes_back_and_it_is_done_once(self):
        an_order_on_the_bench("W-1")
        program = a_program("office")
        body = {"because": "the customer changed their mind"}
        first = program.post("/orders/W-1/cancel", body, key="k")
        again = program.post("/orders/W-1/cancel", body, key="k")
        assert (first.status_code, again.status_code) == (200, 200)
        assert again.headers[REPLAYED] == "true"
        told = first.json()
        assert (told["state"], told["taken"]) == ("cancelled", [])
        assert told["instruments"][0]["taken_apart_at"] is not None
        assert set(Bin.objects.values_list("count", "aside")) == {(2, 0)}
        assert [*ledger_faults(), *faults()] == []

    def test_one_that_is_cancelled_is_not_cancelled_again(self):
        an_order("W-1")
        program = a_program()
        program.post("/orders/W-1/cancel", {"because": "x"})
        told = problem(program.post("/orders/W-1/cancel", {"because": "y"}), 409, "refused")
        assert "cancelled" in told["detail"]
