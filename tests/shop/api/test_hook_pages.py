"""The pages of told programs: for whom, what they show, and the secret once."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from combwright.shop.api.models import Call, Hook
from shop.api.programs import somebody
from shop.api.receivers import a_receiver
from shop.plans.days import an_order

pytestmark = pytest.mark.django_db
FILLED = {"events": ["order.sent", "order.built"], "inside": "on"}


@pytest.fixture
def owner(client):
    client.force_login(somebody())
    return client


def make(client, address="http://127.0.0.1:9/heard?pass=1", **more):
    return client.post("/api/hooks/make/", {"address": address, **FILLED, **more})


def test_the_secret_is_shown_once_and_it_is_said_that_it_is_kept(owner):
    answer = make(owner)
    secret = Hook.objects.get().secret
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "no-store" in answer.headers["Cache-Control"]
    assert secret in page
    assert "database and its backups" in page
    for address in ("/api/hooks/", f"/api/hooks/{Hook.objects.get().pk}/"):
        assert secret not in owner.get(address).content.decode()


def test_another_secret_takes_the_place_of_the_first(owner):
    make(owner)
    before = Hook.objects.get()
    answer = owner.post(f"/api/hooks/{before.pk}/secret/")
    after = Hook.objects.get()
    assert after.secret != before.secret
    assert after.secret in answer.content.decode()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"address": "shop.example"}, "is no address"),
        ({"address": "http://169.254.169.254/"}, "no address of a machine that may be called"),
        ({"inside": ""}, "an owner has to say"),
        ({"events": []}, "This field is required"),
    ],
)
def test_what_cannot_be_is_said_and_what_was_typed_is_kept(owner, more, said):
    answer = make(owner, **more)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert said in page
    assert more.get("address", "http://127.0.0.1:9/heard?pass=1") in page
    assert not Hook.objects.exists()


def test_the_office_is_not_asked_whether_it_is_inside_and_cannot_say_so(client):
    client.force_login(somebody("office"))
    assert 'name="inside"' not in client.get("/api/hooks/make/").content.decode()
    assert make(client).status_code == 422
    assert not Hook.objects.exists()


def test_a_call_to_test_says_what_came_of_it(owner):
    with a_receiver(204, 500) as receiver:
        make(owner, receiver.address)
        address = f"/api/hooks/{Hook.objects.get().pk}/"
        good = owner.post(f"{address}test/", follow=True).content.decode()
        bad = owner.post(f"{address}test/", follow=True).content.decode()
    assert "It heard: it answered 204." in good
    assert "It did not hear. It answered 500" in bad
    assert list(Call.objects.order_by("pk").values_list("state", flat=True)) == [
        Call.DONE, Call.GIVEN_UP,
    ]  # fmt: skip


def test_one_that_is_switched_off_hears_nothing_more(owner):
    make(owner, events=["order.opened"])
    hook = Hook.objects.get()
    an_order("W-1")
    owner.post(f"/api/hooks/{hook.pk}/off/")
    an_order("W-2")
    assert [each.state for each in hook.calls.all()] == [Call.GIVEN_UP]
    page = owner.get(f"/api/hooks/{hook.pk}/").content.decode()
    assert "The program was switched off." in page
    assert "Call it now" not in page
    assert "switched off" in owner.post(f"/api/hooks/{hook.pk}/test/", follow=True).content.decode()


def test_the_list_shows_hosts_and_not_what_may_be_secret_in_an_address(owner):
    make(owner)
    page = owner.get("/api/hooks/").content.decode()
    assert "127.0.0.1:9" in page
    assert "pass=1" not in page


@pytest.mark.parametrize("many", [2, 60])
def test_the_pages_ask_the_same_few_questions_however_much_there_is(owner, many):
    hooks = [
        Hook.objects.create(address="http://a/", secret="s", made_by=somebody(), events=[])
        for _ in range(many)
    ]
    Call.objects.bulk_create(Call(hook=hooks[0], event="test", body="{}") for _ in range(many))
    for address, most in (("/api/hooks/", 4), (f"/api/hooks/{hooks[0].pk}/", 5)):
        with CaptureQueriesContext(connection) as queries:
            assert owner.get(address).status_code == 200
        assert len(queries) == most, [each["sql"] for each in queries]
