"""Programs hear of every step of an order once it is kept, signed, until they have heard it."""

import hashlib
import hmac
import json
import logging
from datetime import timedelta

import pytest
from django.db import transaction
from django.utils import timezone

from combwright.shop.api import delivering, hook_actions
from combwright.shop.api.models import Call, Hook
from combwright.shop.bench import picking, sending
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.worker import Worker
from combwright.shop.orders import actions as order_actions
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.people.refusals import Refused
from combwright.shop.plans import actions as plan_actions
from shop.api.programs import somebody
from shop.api.receivers import a_receiver
from shop.plans.days import a_plan, a_set, an_order

pytestmark = [pytest.mark.django_db, pytest.mark.data]
EVERY = [
    "order.opened", "order.set-aside", "order.picking", "order.bench", "order.built",
    "order.sent", "order.cancelled",
]  # fmt: skip


class Run:
    """A try at a job that nobody stops."""

    def check(self):
        pass


def a_hook(address="http://127.0.0.1:9/", events=EVERY):
    return Hook.objects.create(
        address=address, events=events, inside=True, secret="s3cret", made_by=somebody()
    )


def events():
    return list(Call.objects.order_by("pk").values_list("event", flat=True))


def deliver():
    return delivering.deliver(Run())


def make_all_due():
    Call.objects.update(not_before=timezone.now() - timedelta(seconds=1))


class TestWhatIsWrittenDown:
    def test_every_step_is_written_once_for_every_program_that_wants_it(self):
        a_hook()
        a_hook(events=["order.sent"])
        order = an_order("W-1")
        for state in (State.ASIDE, State.PICKING, State.BENCH, State.BUILT):
            order_actions.advance(Order.objects.get(), state, somebody(), "on")
        order.refresh_from_db()
        sending.send(somebody(), order, tracking="parcel 7")
        assert events() == [*EVERY[:5], "order.sent", "order.sent"]
        last = json.loads(Call.objects.first().body)
        assert (last["order"], last["state"], last["tracking"]) == ("W-1", "sent", "parcel 7")
        assert last["version"] == Order.objects.get().version
        assert len({each.name for each in Call.objects.all()}) == 7

    def test_the_shops_own_actions_are_told_each_once(self):
        a_hook()
        a_set("C", 1)
        order = an_order("W-1")
        plan_actions.set_aside(somebody(), a_plan())
        picking.begin(somebody(), [order])
        picking.begin(somebody(), [order])
        sending.cancel(somebody(), order, because="no longer wanted")
        assert events() == ["order.opened", "order.set-aside", "order.picking", "order.cancelled"]

    def test_what_is_not_kept_is_not_told(self):
        a_hook()
        order = order_actions.make_order(somebody(), {"number": "W-1"}, [{"key": "C"}])

        @transaction.atomic
        def opened_and_broken():
            order_actions.open_order(order, somebody())
            assert events() == ["order.opened"]
            raise RuntimeError("a bug after the step")

        with pytest.raises(RuntimeError, match="a bug"):
            opened_and_broken()
        assert events() == []

    def test_what_is_no_event_or_for_nobody_is_not_written(self):
        hook_actions.switch_off(somebody(), a_hook())
        order = an_order("W-1")
        a_hook()
        order_actions.back_to_draft(order, somebody())
        assert events() == []

    def test_nothing_of_the_customer_is_told(self):
        a_hook()
        order = an_order("W-1")
        told = json.loads(Call.objects.get().body)
        assert set(told) == {
            "call", "event", "at", "order", "outer_key", "state", "version", "tracking",
        }  # fmt: skip
        assert told["call"] == str(Call.objects.get().name)
        assert order.number == told["order"]


class TestTelling:
    def test_a_call_is_signed_so_that_anybody_can_check_it(self):
        with a_receiver(204) as receiver:
            a_hook(receiver.address)
            an_order("W-1")
            deliver()
        ((path, headers, body),) = receiver.heard
        call = Call.objects.get()
        assert (call.state, call.answered, call.tries) == (Call.DONE, 204, 1)
        assert path == "/heard?shop=1"
        assert headers["Content-Type"] == "application/json"
        assert headers["Combwright-Call"] == str(call.name)
        # Computed by itself here, from what came over the line alone.
        signed = headers["Combwright-Time"].encode() + b"\n" + body
        wanted = hmac.new(b"s3cret", signed, hashlib.sha256).hexdigest()
        assert headers["Combwright-Hmac-Sha256"] == wanted
        assert abs(int(headers["Combwright-Time"]) - timezone.now().timestamp()) < 60
        assert json.loads(body)["event"] == "order.opened"

    def test_what_fails_is_tried_again_later_and_then_arrives_under_the_same_name(self):
        with a_receiver(500, 503, 200) as receiver:
            a_hook(receiver.address)
            an_order("W-1")
            for tries, wait in ((1, 30), (2, 60)):
                before = timezone.now()
                deliver()
                deliver()  # not due yet
                call = Call.objects.get()
                assert (call.state, call.tries) == (Call.WAITING, tries)
                assert call.not_before >= before + timedelta(seconds=wait)
                make_all_due()
            assert "503" in Call.objects.get().error
            deliver()
        call = Call.objects.get()
        assert (call.state, call.tries, call.error, call.answered) == (Call.DONE, 3, "", 200)
        assert {headers["Combwright-Call"] for _path, headers, _body in receiver.heard} == {
            str(call.name)
        }
        assert len({body for _path, _headers, body in receiver.heard}) == 1

    def test_it_is_given_up_after_about_a_day(self):
        waits = [delivering.wait_after(n) for n in range(1, delivering.MOST_TRIES)]
        assert waits == sorted(waits)
        assert timedelta(hours=20) < sum(waits, timedelta()) <= timedelta(days=1)
        with a_receiver(400) as receiver:
            a_hook(receiver.address)
            an_order("W-1")
            for _ in range(delivering.MOST_TRIES + 2):
                make_all_due()
                deliver()
        call = Call.objects.get()
        assert (call.state, call.tries) == (Call.GIVEN_UP, delivering.MOST_TRIES)
        assert len(receiver.heard) == delivering.MOST_TRIES
        assert call.ended_at is not None

    def test_nobody_there_is_no_fault_of_the_shop_and_the_other_calls_rest_too(self):
        with a_receiver(204) as receiver:
            dead, alive = a_hook(), a_hook(receiver.address)
            an_order("W-1")
            an_order("W-2")
            told = deliver()
        assert "2 calls were made, 1 failed" in told["words"]
        assert set(alive.calls.values_list("state", flat=True)) == {Call.DONE}
        assert sorted(dead.calls.values_list("tries", flat=True)) == [0, 1]
        assert not dead.calls.filter(not_before__lte=timezone.now()).exists()
        assert "could not be reached" in dead.calls.get(tries=1).error

    def test_redirects_are_not_followed(self):
        with a_receiver(204) as other, a_receiver(302, location=other.address) as receiver:
            a_hook(receiver.address)
            an_order("W-1")
            deliver()
        assert other.heard == []
        assert "302" in Call.objects.get().error

    def test_one_that_answers_too_slowly_is_cut_off(self, monkeypatch):
        import socket

        monkeypatch.setattr("combwright.shop.api.calling.SECONDS_IN_ALL", 0.3)
        with socket.create_server(("127.0.0.1", 0)) as silent:
            a_hook(f"http://127.0.0.1:{silent.getsockname()[1]}/")
            an_order("W-1")
            deliver()
        call = Call.objects.get()
        assert (call.state, call.tries, call.answered) == (Call.WAITING, 1, None)
        assert call.error

    def test_of_two_workers_one_makes_the_call(self):
        with a_receiver(204) as receiver:
            a_hook(receiver.address)
            an_order("W-1")
            one, two = Call.objects.get(), Call.objects.get()
            assert delivering.make_call(one)
            assert not delivering.make_call(two)
        assert len(receiver.heard) == 1

    def test_the_log_has_one_line_a_try_and_neither_secret_nor_address(self, caplog):
        caplog.set_level(logging.INFO, logger="combwright")
        with a_receiver(500) as receiver:
            hook = a_hook(receiver.address)
            an_order("W-1")
            deliver()
        lines = [each.getMessage() for each in caplog.records if "call_" in each.getMessage()]
        assert len(lines) == 1
        assert f"hook={hook.pk}" in lines[0]
        assert "answered=500" in lines[0]
        assert "shop=1" not in caplog.text
        assert "s3cret" not in caplog.text

    def test_the_practice_shop_calls_nobody(self, settings):
        settings.PRACTICE = True
        with a_receiver(204) as receiver:
            hook = a_hook(receiver.address)
            an_order("W-1")
            delivering.tell_programs()
            deliver()
            with pytest.raises(Refused, match="not in practice"):
                hook_actions.test(somebody(), hook)
            with pytest.raises(Refused, match="not in practice"):
                hook_actions.make_hook(somebody(), receiver.address, EVERY, inside=True)
        assert receiver.heard == []
        assert not Job.objects.exists()

    def test_old_calls_are_thrown_away(self):
        a_hook()
        an_order("W-1")
        an_order("W-2")
        old = Call.objects.last()
        ended = timezone.now() - delivering.KEPT - timedelta(seconds=1)
        Call.objects.filter(pk=old.pk).update(state=Call.DONE, ended_at=ended)
        delivering.throw_old_calls_away()
        assert [each.state for each in Call.objects.all()] == [Call.WAITING]


@pytest.mark.django_db(transaction=True)
def test_a_worker_tells_what_is_due_without_being_asked():
    with a_receiver(204) as receiver:
        a_hook(receiver.address)
        an_order("W-1")
        Worker().work_off()
    assert len(receiver.heard) == 1
    assert Call.objects.get().state == Call.DONE
    job = Job.objects.get(kind=delivering.KIND)
    assert (job.state, job.result_words) == (Job.DONE, "1 call was made.")
