"""The first run: whoever comes first becomes the owner, and only they."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection, connections
from django.test import Client

from combwright.shop.people import actions
from combwright.shop.people.models import Person
from combwright.shop.people.refusals import Refused
from shop.people.persons import is_in, somebody, text

pytestmark = pytest.mark.django_db
OWNER = {
    "full_name": "Ida Morrow",
    "name": "Ida",
    "password": "nine brass rivets",
    "again": "nine brass rivets",
}


def test_an_empty_shop_sends_everybody_to_its_first_page(client):
    for page in ("/", "/rack/", "/people/login/"):
        assert client.get(page).headers["Location"] == "/people/first/"


def test_the_first_page_makes_the_owner_and_logs_them_in(client):
    assert client.get("/people/first/").status_code == 200
    assert client.post("/people/first/", OWNER).headers["Location"] == "/today/"
    person = Person.objects.get()
    assert (person.name, person.full_name, person.role) == ("ida", "Ida Morrow", "owner")
    assert person.check_password("nine brass rivets")
    assert is_in(client)


def test_once_there_is_somebody_there_is_no_first_page(client):
    somebody("packer")
    for answer in (client.get("/people/first/"), client.post("/people/first/", OWNER)):
        assert answer.headers["Location"] == "/people/login/"
    with pytest.raises(Refused, match="has an owner already"):
        actions.first_owner("ida", "Ida Morrow", "nine brass rivets")
    assert Person.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"again": "nine brass rivet"}, "The two passwords differ"),
        ({"password": "short", "again": "short"}, "at least 10 characters"),
        ({"password": "password123", "again": "password123"}, "too common"),
        ({"password": "ida morrow", "again": "ida morrow"}, "too similar to the full name"),
        ({"name": "ida morrow"}, "letters, digits and . - _ @ + only, and no spaces"),
        ({"name": "x" * 61}, "at most 60 characters"),
        ({"name": "\ufdfa" * 20}, "at most 60 characters"),  # longer once it is tidied
        ({"name": "i\x00da"}, "Null characters are not allowed"),
        ({"name": ""}, "This field is required"),
        ({"full_name": "x" * 121}, "at most 120 characters"),
        ({"password": "x" * 201, "again": "x" * 201}, "at most 200 characters"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stays_but_no_password(client, wrong, said):
    given = {**OWNER, **wrong}
    answer = client.post("/people/first/", given)
    assert answer.status_code == 422
    assert said in text(answer)
    assert Person.objects.count() == 0
    assert given["full_name"] in answer.content.decode()
    inputs = [part for part in answer.content.decode().split("<input") if "password" in part[:80]]
    assert len(inputs) == 2
    assert not any("value=" in part.split(">")[0] for part in inputs)


@pytest.mark.django_db(transaction=True)
@pytest.mark.data
def test_of_two_who_come_first_at_once_one_becomes_the_owner():
    if connection.vendor == "sqlite":
        assert "memory" not in str(connection.settings_dict["NAME"]), "threads need a file"
    for _ in range(10):
        Person.objects.all().delete()
        together, answers = Barrier(2), []

        def come(name, together=together, answers=answers):
            try:
                client = Client()
                together.wait()
                sent = client.post("/people/first/", {**OWNER, "name": name})
                answers.append((name, sent.headers.get("Location"), is_in(client)))
            finally:
                connections.close_all()

        with ThreadPoolExecutor(2) as pool:
            list(pool.map(come, ["ida", "tom"]))
        owner = Person.objects.get()
        assert {name for name, _to, inside in answers if inside} == {owner.name}
        assert len(answers) == 2


def test_the_database_itself_keeps_to_one_founder():
    from django.db import IntegrityError, transaction

    Person.objects.join("ida", "Ida", "owner", "x", founder=True)
    with pytest.raises(IntegrityError), transaction.atomic():
        Person.objects.join("tom", "Tom", "owner", "x", founder=True)
