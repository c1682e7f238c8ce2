"""Tokens: made, shown once, used, over, revoked, guessed; and the pages about them."""

import html
import re
from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from combwright.shop.api import actions
from combwright.shop.api.models import Token, WrongToken
from combwright.shop.people import actions as people
from combwright.shop.people import patience
from shop.api.programs import Program, a_token, problem, somebody

pytestmark = pytest.mark.django_db


@pytest.fixture
def clock(monkeypatch):
    class Clock:
        now = datetime(2026, 5, 4, 9, 12, tzinfo=UTC)

        def __call__(self):
            return self.now

    faked = Clock()
    monkeypatch.setattr(timezone, "now", faked)
    return faked


def text_of(response):
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", response.content.decode())).split())


def make(client, **more):
    until = timezone.localdate() + timedelta(days=30)
    sent = {"name": "web shop", "scopes": ["look", "receive"], "until": until.isoformat()}
    return client.post("/api/tokens/make/", sent | more)


def test_a_token_is_made_shown_once_and_kept_as_a_digest(client):
    client.force_login(somebody("office"))
    answer = make(client)
    text = re.search(r"cw_[\w-]{43}", answer.content.decode())[0]
    assert "no-store" in answer.headers["Cache-Control"]
    token = Token.objects.get()
    assert (token.digest, token.prefix) == (Token.digest_of(text), text[:9])
    kept = {str(value) for value in Token.objects.values().get().values()}
    assert not any(text in value for value in kept)
    page = client.get("/api/tokens/").content.decode()
    assert text[:9] in page
    assert text not in page
    me = Program(text).get("/me").json()
    assert (me["program"], me["person"], me["scopes"]) == (
        "web shop",
        "Office",
        ["look", "receive"],
    )


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"name": ""}, "required"),
        ({"scopes": []}, "required"),
        ({"scopes": ["people"]}, "people is not one of the available choices"),
        ({"scopes": ["take"]}, "take is not one of the available choices"),
        ({"until": "2020-01-01"}, "This day is over"),
        ({"until": "2999-01-01"}, "two years"),
    ],
)
def test_a_token_for_more_than_one_may_or_for_ever_is_not_made(client, wrong, says):
    client.force_login(somebody("office"))
    answer = make(client, **wrong)
    assert (answer.status_code, Token.objects.count()) == (422, 0)
    assert says in text_of(answer)


def test_a_token_opens_to_the_end_of_its_last_day(client, clock):
    client.force_login(somebody("office"))
    answer = make(client, until="2026-05-06")
    program = Program(re.search(r"cw_[\w-]{43}", answer.content.decode())[0])
    clock.now = datetime(2026, 5, 6, 23, 59, tzinfo=UTC)
    assert program.get("/me").status_code == 200
    clock.now = datetime(2026, 5, 7, 0, 0, tzinfo=UTC)
    told = problem(program.get("/me"), 401, "no-token")
    assert told["detail"] == "This token's time ended on May 7, 2026; make another one."


def test_in_practice_no_tokens_are_made(client, settings):
    settings.PRACTICE = True
    client.force_login(somebody("office"))
    answer = make(client)
    assert (answer.status_code, Token.objects.count()) == (422, 0)
    assert "not in practice" in text_of(answer)


def test_one_sees_and_revokes_ones_own_and_the_owner_everybodys(client):
    mine, theirs = a_token(somebody("office"))[0], a_token(somebody("owner"))[0]
    client.force_login(somebody("office"))
    page = client.get("/api/tokens/").content.decode()
    assert mine.prefix in page
    assert theirs.prefix not in page
    assert client.post(f"/api/tokens/{theirs.pk}/revoke/").status_code == 404
    client.force_login(somebody("owner"))
    page = client.get("/api/tokens/").content.decode()
    assert mine.prefix in page
    assert theirs.prefix in page
    assert client.post(f"/api/tokens/{mine.pk}/revoke/").status_code == 302
    mine.refresh_from_db()
    assert mine.revoked_at is not None


def test_a_revoked_token_opens_nothing_at_once():
    token, text = a_token()
    program = Program(text)
    assert program.get("/me").status_code == 200
    actions.revoke(somebody(), token)
    answer = program.get("/me")
    assert "was revoked" in problem(answer, 401, "no-token")["detail"]
    assert 'error="invalid_token"' in answer.headers["WWW-Authenticate"]


def test_a_barred_persons_tokens_open_nothing():
    somebody("owner")
    person = somebody("office")
    program = Program(a_token(person)[1])
    people.bar(somebody("owner"), person)
    assert "barred" in problem(program.get("/me"), 401, "no-token")["detail"]


@pytest.mark.parametrize(
    "header", [None, "", "Bearer", "Bearer ", "Basic b3duZXI6eA==", "cw_x", "Token cw_x"]
)
def test_without_a_token_one_is_asked_for(header):
    answer = Program().get("/me", headers={"Authorization": header} if header is not None else {})
    problem(answer, 401, "no-token")
    assert answer.headers["WWW-Authenticate"] == 'Bearer realm="Combwright"'


@pytest.mark.parametrize("text", ["cw_", "cw_\u00e4", "x" * 5000, "cw_" + "a" * 43])
def test_a_token_that_is_none_opens_nothing(text):
    problem(Program(text).get("/me"), 401, "no-token")


def test_being_logged_in_opens_nothing_to_a_program(client):
    client.force_login(somebody())
    problem(client.get("/api/v1/bins"), 401, "no-token")


def test_what_a_token_may_follows_its_persons_role():
    person = somebody("owner")
    program = Program(a_token(person)[1])
    assert "correct" in program.get("/me").json()["may"]
    person.role = "packer"
    person.save()
    told = program.get("/me").json()
    assert "correct" in told["scopes"]
    assert "correct" not in told["may"]


def test_the_last_use_is_known_to_the_minute_and_costs_one_write_a_minute(
    clock, django_assert_num_queries
):
    token, text = a_token()
    program = Program(text)
    program.get("/me")
    first = clock.now
    clock.now += timedelta(seconds=59)
    with django_assert_num_queries(1):
        program.get("/me")
    token.refresh_from_db()
    assert token.last_used_at == first
    clock.now += timedelta(seconds=2)
    program.get("/me")
    token.refresh_from_db()
    assert token.last_used_at == clock.now


def test_who_guesses_tokens_is_slowed_down_and_good_tokens_are_not(clock):
    good = Program(a_token()[1])
    wrong = Program("cw_wrong")
    for _ in range(patience.FREE_FOR_AN_ADDRESS):
        problem(wrong.get("/me"), 401, "no-token")
    answer = wrong.get("/me")
    told = problem(answer, 429, "slow-down")
    assert answer.headers["Retry-After"] == str(patience.FIRST_WAIT_SECONDS)
    assert "wait 10 seconds" in told["detail"]
    assert good.get("/me").status_code == 200
    assert Program("cw_wrong", REMOTE_ADDR="192.0.2.7").get("/me").status_code == 401
    assert WrongToken.objects.filter(address="127.0.0.1").count() == patience.FREE_FOR_AN_ADDRESS
    clock.now += timedelta(seconds=patience.FIRST_WAIT_SECONDS)
    assert wrong.get("/me").status_code == 401
    assert wrong.get("/me").headers["Retry-After"] == str(2 * patience.FIRST_WAIT_SECONDS)
    clock.now += patience.WINDOW + timedelta(seconds=1)
    assert wrong.get("/me").status_code == 401
    assert WrongToken.objects.count() == 1


def test_wrong_tokens_do_not_keep_people_from_logging_in(client):
    for _ in range(patience.FREE_FOR_AN_ADDRESS + 1):
        Program("cw_wrong").get("/me")
    person = somebody()
    person.set_password("nine brass rivets")
    person.save()
    answer = client.post("/people/login/", {"name": "owner", "password": "nine brass rivets"})
    assert answer.status_code == 302


def test_the_list_asks_the_database_as_often_for_fifty_tokens_as_for_one(
    client, django_assert_max_num_queries
):
    for _ in range(50):
        a_token()
    client.force_login(somebody())
    with django_assert_max_num_queries(4):
        client.get("/api/tokens/")
