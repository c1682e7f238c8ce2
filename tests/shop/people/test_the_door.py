"""What the door lets through, and where it sends people."""

from contextlib import closing
from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import RequestFactory
from django.urls import get_resolver, reverse
from django.urls.resolvers import URLResolver

from combwright.shop.people.door import address_of
from shop.people.persons import PASSWORD, browser_of, is_in, log_in, somebody, text

pytestmark = pytest.mark.django_db
OPEN = {
    "people:login",
    "people:first",
    "people:link",
    "people:trust",
    "people:authority",
    "orders:shared",
}
SAMPLES = {"int": 1, "path": "x", "str": "x", "slug": "x", "uuid": "0" * 32}


def addresses(resolver=None, spaces=()):
    """Yield every named address of the shop with something in the place of its parts."""
    for each in (resolver or get_resolver()).url_patterns:
        if getattr(each.callback, "own_door", False):
            continue  # programs come in by a token, and are answered as programs
        if isinstance(each, URLResolver):
            yield from addresses(each, (*spaces, each.namespace) if each.namespace else spaces)
        else:
            parts = {
                name: SAMPLES[next(k for k in SAMPLES if k in type(converter).__name__.lower())]
                for name, converter in each.pattern.converters.items()
            }
            name = ":".join((*spaces, each.name))
            yield name, reverse(name, kwargs=parts)


def test_every_address_of_the_shop_that_is_not_open_refuses_whoever_has_not_logged_in(client):
    somebody()
    asked = [(name, address) for name, address in addresses() if name not in OPEN]
    assert len(asked) > 20
    for name, address in asked:
        for method in ("get", "head", "post", "put", "delete", "options"):
            answer = getattr(client, method)(address)
            assert answer.status_code == 302, (name, method)
            assert answer.headers["Location"].startswith("/people/login/"), (name, method)
            assert not answer.content, (name, method)


def test_an_address_that_is_none_tells_a_stranger_nothing(client):
    somebody()
    answer = client.get("/no/such/page/")
    assert answer.headers["Location"].startswith("/people/login/")


def test_what_the_pages_look_like_is_no_secret(client):
    somebody()
    with closing(client.get("/static/look/shop.css")) as answer:
        assert answer.status_code == 200
    assert client.get("/static/no-such.css").status_code == 404


def test_a_stranger_comes_back_to_the_page_that_was_asked_for(client):
    somebody()
    sent = client.get("/rack/bins/?text=A&note=F%234").headers["Location"]
    assert parse_qs(urlsplit(sent).query) == {"next": ["/rack/bins/?text=A&note=F%234"]}
    answer = client.post(sent, {"name": "owner", "password": PASSWORD})
    assert answer.headers["Location"] == "/rack/bins/?text=A&note=F%234"


def test_a_form_sent_by_a_stranger_is_not_come_back_to(client):
    somebody()
    assert client.post("/people/logout/").headers["Location"] == "/people/login/"


def test_a_part_of_a_page_is_not_answered_with_the_door_but_the_page_is_sent_there(client):
    somebody()
    answer = client.post(
        "/rack/bins/",
        headers={
            "HX-Request": "true",
            "HX-Current-URL": "http://testserver/rack/bins/?note=A4",
        },
    )
    assert (answer.status_code, answer.content) == (204, b"")
    assert answer.headers["HX-Redirect"] == "/people/login/?next=%2Frack%2Fbins%2F%3Fnote%3DA4"


@pytest.mark.parametrize(
    "away",
    [
        "https://elsewhere.example/",
        "//elsewhere.example/",
        "///elsewhere.example",
        "\\\\elsewhere.example",
        "/\\elsewhere.example",
        "http:elsewhere.example",
        "javascript:alert(1)",
        " //elsewhere.example",
        "\x01//elsewhere.example",
        "http://testserver@elsewhere.example/",
        "data:text/html,x",
        "",
    ],
)
def test_the_door_leads_to_no_other_house(client, away):
    somebody()
    answer = client.post(
        "/people/login/",
        {"name": "owner", "password": PASSWORD},
        query_params={"next": away},
    )
    assert answer.status_code == 302
    assert answer.headers["Location"] == "/today/"
    assert client.get("/people/login/", {"next": away}).headers["Location"] == "/today/"


def test_a_wrong_password_keeps_the_name_and_not_the_password(client):
    somebody()
    answer = log_in(client, "owner", "eight brass rivets")
    assert answer.status_code == 422
    assert "That name and that password do not belong together" in text(answer)
    assert b'value="owner"' in answer.content
    assert b"eight brass" not in answer.content
    assert not is_in(client)


@pytest.mark.parametrize("typed", ["ida", "IDA", " Ida ", "\uff29da"])
def test_a_name_is_the_same_however_it_is_typed(client, typed):
    somebody("maker", "ida")
    assert log_in(client, typed, PASSWORD).status_code == 302
    assert is_in(client)


def test_a_password_is_taken_as_it_is_typed(client):
    somebody("maker", "ida", " spaces at both ends ")
    assert log_in(client, "ida", "spaces at both ends").status_code == 422
    assert log_in(client, "ida", " spaces at both ends ").status_code == 302


def test_whoever_has_no_password_yet_cannot_log_in(client):
    somebody("maker", "ida", None)
    for guess in ("", "!", "None"):
        assert log_in(client, "ida", guess).status_code == 422


def test_logging_out_ends_the_session_here_alone(client):
    person = somebody()
    here, there = browser_of(person), browser_of(person)
    key = here.cookies["sessionid"].value
    assert here.post("/people/logout/").status_code == 302
    assert not is_in(here)
    here.cookies["sessionid"] = key
    assert not is_in(here)
    assert is_in(there)


def test_logging_in_gives_a_new_session_key(client):
    person = somebody()
    session = client.session
    session["left"] = "by somebody who wants to share it"
    session.save()
    planted = session.session_key
    client.cookies["sessionid"] = planted
    log_in(client, person.name, PASSWORD)
    assert client.cookies["sessionid"].value != planted


def test_pages_with_secrets_are_kept_by_no_cache(client):
    somebody()
    assert "no-store" in client.get("/people/login/").headers["Cache-Control"]
    assert "no-store" in client.get("/people/link/").headers["Cache-Control"]


@pytest.mark.parametrize(
    ("given", "counted"),
    [
        ("192.0.2.7", "192.0.2.7"),
        ("::ffff:192.0.2.7", "192.0.2.7"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("2001:db8:1:2:9:9:9:9", "2001:db8:1:2::/64"),
        ("fe80::1%eth0", "fe80::/64"),
        ("", "unknown"),
        ('x" event=login', "unknown"),
    ],
)
def test_where_a_try_comes_from(given, counted):
    # Addresses for examples: RFC 5737 and RFC 3849.
    assert address_of(RequestFactory().get("/", REMOTE_ADDR=given)) == counted
