"""One-time links: for those who are let in, for those who forgot, and for the demo."""

import html
import re
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.db import connections
from django.test import Client, RequestFactory

from combwright.shop.people import actions, entering
from combwright.shop.people.models import Link, Person
from combwright.shop.people.refusals import LinkRefused
from combwright.shop.people.views import link_address
from shop.people.persons import PASSWORD, browser_of, is_in, log_in, somebody, text

pytestmark = pytest.mark.django_db
NEW = {"password": "seven steel screws", "again": "seven steel screws"}


def link_in(answer):
    """Return the path of the link that a page shows."""
    found = re.findall(r"<code>http://testserver(/[^<]*)</code>", answer.content.decode())
    assert len(found) == 1
    return html.unescape(found[0])


def test_a_link_logs_in_once_and_only_when_its_button_is_pressed(client):
    person = somebody("maker", "ida")
    address = link_address(actions.make_link(person, 1))
    for _ in range(3):  # a browser or a mail program may look at it before
        assert "Log in as Ida" in text(client.get(address))
        assert client.head(address).status_code == 200
    assert not is_in(client)
    assert client.post(address).headers["Location"] == "/today/"
    assert is_in(client)
    again = Client()
    for answer in (again.post(address), again.get(address)):
        assert answer.status_code == 410
        assert "This link was used before; it opens once." in text(answer)
    assert not is_in(again)


def test_a_link_ends_when_its_time_is_over(client, clock):
    address = link_address(actions.make_link(somebody(), 2))
    clock.wait(minutes=119)
    assert client.get(address).status_code == 200
    clock.wait(minutes=1)
    for answer in (client.get(address), client.post(address)):
        assert answer.status_code == 410
        assert "This link's time is over." in text(answer)
    assert not is_in(client)


@pytest.mark.parametrize("token", ["", "x", "é", "x" * 5000, "a\x00b"])
def test_a_made_up_link_opens_nothing(client, token):
    somebody()
    for answer in (client.get(link_address(token)), client.post(link_address(token))):
        assert answer.status_code == 410
        assert "This link opens nothing" in text(answer)


def test_the_database_does_not_know_the_token():
    token = actions.make_link(somebody(), 1)
    assert len(token) >= 43  # 256 bits
    assert token not in str(Link.objects.values().get())


def test_a_newcomer_chooses_a_password_on_the_link_that_the_owner_passes_on():
    owner = browser_of(somebody())
    given = {"full_name": "Tom Averill", "name": "Tom", "role": "packer"}
    answer = owner.post("/people/join/", given)
    assert answer.status_code == 200
    assert "no-store" in answer.headers["Cache-Control"]
    address, newcomer = link_in(answer), Client()
    assert "Welcome, Tom Averill" in text(newcomer.get(address))
    assert newcomer.post(address).status_code == 422  # the link lives on
    wrong = newcomer.post(address, {**NEW, "again": "seven steel screw"})
    assert "The two passwords differ" in text(wrong)
    similar = {"password": "tom averill", "again": "tom averill"}
    assert "too similar" in text(newcomer.post(address, similar))
    assert not is_in(newcomer)
    assert newcomer.post(address, NEW).status_code == 302
    assert is_in(newcomer)
    assert log_in(Client(), "tom", NEW["password"]).status_code == 302
    assert Client().post(address, NEW).status_code == 410
    assert Person.objects.get(name="tom").role == "packer"


def test_a_name_is_given_once_and_what_was_typed_stays():
    owner = browser_of(somebody())
    somebody("packer", "tom")
    given = {"full_name": "Tom Averill", "name": "TOM", "role": "maker"}
    answer = owner.post("/people/join/", given)
    assert answer.status_code == 422
    assert "There is somebody named tom already; choose another name." in text(answer)
    assert b"Tom Averill" in answer.content
    assert (Person.objects.count(), Link.objects.count()) == (2, 0)


def test_a_role_that_is_none_is_refused():
    owner = browser_of(somebody())
    given = {"full_name": "Tom", "name": "tom", "role": "king"}
    assert owner.post("/people/join/", given).status_code == 422
    assert Person.objects.count() == 1


def test_a_new_link_replaces_a_forgotten_password_and_earlier_links():
    owner, person = browser_of(somebody()), somebody("maker", "ida")
    open_somewhere = browser_of(person)
    earlier = link_address(actions.make_link(person, 1))
    address = link_in(owner.post(f"/people/{person.pk}/link/"))
    assert Client().post(earlier).status_code == 410
    assert is_in(open_somewhere)
    assert Client().post(address, NEW).status_code == 302
    assert not is_in(open_somewhere)
    assert log_in(Client(), "ida", PASSWORD).status_code == 422


def test_the_barred_have_no_links():
    owner, person = browser_of(somebody()), somebody("maker", "ida")
    address = link_address(actions.make_link(person, 1))
    actions.bar(somebody("owner", "second"), person)
    assert Client().post(address).status_code == 410
    person.refresh_from_db()
    answer = owner.post(f"/people/{person.pk}/link/")
    assert answer.status_code == 422
    assert "Ida is barred; let them in again first." in text(answer)
    actions.unbar(somebody("owner", "third"), person)
    assert Client().post(address).status_code == 410  # it does not come back to life
    actions.bar(somebody("owner", "fourth"), person)
    late = link_address(actions.make_link(person, 1))
    assert "somebody who is barred" in text(Client().post(late))


def test_changing_the_password_ends_links_that_are_under_way():
    person = somebody("maker", "ida")
    address = link_address(actions.make_link(person, 1))
    browser_of(person).post("/people/me/", {"old": PASSWORD, **NEW})
    assert Client().post(address).status_code == 410


def test_a_link_to_choose_a_password_on_needs_one():
    token = actions.make_link(somebody("maker", "ida", None), 1, chooses_password=True)
    with pytest.raises(LinkRefused, match="Choose a password first"):
        entering.enter_by_link(RequestFactory().post("/"), token)


def test_links_long_spent_are_cleaned_away(clock):
    person = somebody()
    actions.make_link(person, 1)
    clock.wait(days=31)
    actions.make_link(person, 1)
    assert Link.objects.count() == 1


@pytest.mark.django_db(transaction=True)
@pytest.mark.data
def test_of_many_who_press_the_button_at_once_one_gets_in():
    token = actions.make_link(somebody(), 1)

    def press(_n):
        request = RequestFactory().post("/")
        request.session = SessionStore()
        try:
            entering.enter_by_link(request, token)
        except LinkRefused:
            return "refused"
        finally:
            connections.close_all()
        return "in"

    with ThreadPoolExecutor(6) as pool:
        outcomes = list(pool.map(press, range(12)))
    assert sorted(outcomes) == ["in"] + ["refused"] * 11
