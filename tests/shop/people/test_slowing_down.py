"""Guessing passwords: a few tries are free, then each takes longer than the one before."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.conf import settings as shop_settings
from django.contrib.auth import hashers
from django.db import connections
from django.test import Client, RequestFactory

from combwright.shop.people import actions, entering
from combwright.shop.people.models import Knock
from combwright.shop.people.patience import in_words, seconds_to_wait
from combwright.shop.people.refusals import Refused, Wait
from shop.people.persons import PASSWORD, browser_of, is_in, log_in, somebody, text

pytestmark = pytest.mark.django_db


def fail(client, name="owner", times=1, address="192.0.2.1"):
    return [
        log_in(client, name, "a wrong guess", REMOTE_ADDR=address).status_code for _ in range(times)
    ]


def test_after_five_failures_of_a_name_even_the_right_password_has_to_wait(client, clock):
    somebody()
    assert fail(client, times=5) == [422] * 5
    answer = log_in(client, "owner", PASSWORD)
    assert (answer.status_code, answer.headers["Retry-After"]) == (429, "10")
    assert "Too many tries have failed: wait 10 seconds" in text(answer)
    assert b'value="owner"' in answer.content
    clock.wait(seconds=9)
    assert "wait 1 second," in text(log_in(client, "owner", PASSWORD))
    clock.wait(seconds=1)
    assert log_in(client, "owner", PASSWORD).status_code == 302


def test_each_further_failure_doubles_the_wait(client, clock):
    somebody()
    fail(client, times=5)
    waits = []
    for _ in range(4):
        answer = log_in(client, "owner", "another guess")
        waits.append(int(answer.headers["Retry-After"]))
        clock.wait(seconds=waits[-1])
        assert fail(client) == [422]
    assert waits == [10, 20, 40, 80]
    assert "wait 3 minutes" in text(log_in(client, "owner", "x"))  # 160 seconds


def test_knocking_while_waiting_does_not_lengthen_the_wait(client, clock):
    somebody()
    fail(client, times=5)
    clock.wait(seconds=4)
    assert fail(client, times=30) == [429] * 30
    clock.wait(seconds=6)
    assert log_in(client, "owner", PASSWORD).status_code == 302


def test_a_name_that_nobody_has_is_slowed_down_just_the_same(client, clock):
    somebody()
    known, unknown = fail(Client(), "owner", 6), fail(Client(), "nobody", 6, "192.0.2.2")
    assert known == unknown == [422] * 5 + [429]
    texts = [text(log_in(Client(), name, "x")) for name in ("owner", "nobody")]
    assert texts[0] == texts[1]


def test_names_are_slowed_down_each_for_itself(client, clock):
    somebody()
    somebody("packer")
    fail(client, "owner", 6)
    assert log_in(client, "packer", PASSWORD).status_code == 302


def test_spelling_a_name_otherwise_buys_no_tries(client, clock):
    somebody()
    tries = [fail(client, name)[0] for name in ("owner", "OWNER", " Owner", "oWner", "owneR")]
    assert tries == [422] * 5
    assert fail(client, "OwNeR") == [429]


def test_twenty_failures_of_an_address_slow_it_down_for_every_name(client, clock):
    somebody()
    somebody("packer")
    for n in range(20):
        assert fail(client, f"name{n}") == [422]
    refused = log_in(client, "packer", PASSWORD, REMOTE_ADDR="192.0.2.1")
    assert (refused.status_code, refused.headers["Retry-After"]) == (429, "10")
    assert log_in(client, "packer", PASSWORD, REMOTE_ADDR="192.0.2.9").status_code == 302


def test_having_a_name_of_ones_own_buys_no_tries_at_others(client, clock):
    somebody()
    somebody("packer")
    for n in range(20):
        fail(client, f"name{n}")
        if n < 19:
            assert log_in(Client(), "packer", PASSWORD, REMOTE_ADDR="192.0.2.1").status_code == 302
    assert fail(client, "one more") == [429]


def test_failures_are_forgotten_after_a_quarter_of_an_hour_and_cleaned_away(client, clock):
    somebody()
    fail(client, times=5)
    clock.wait(minutes=15, seconds=1)
    assert fail(client, times=4) == [422] * 4
    assert Knock.objects.count() == 4


def test_logging_in_forgets_ones_own_failures(client, clock):
    somebody()
    fail(client, times=4)
    log_in(client, "owner", PASSWORD)
    assert Knock.objects.count() == 0


def test_a_clock_that_was_put_back_keeps_nobody_out_for_longer(client, clock):
    somebody()
    fail(client, times=5)
    clock.wait(minutes=-10)
    assert log_in(client, "owner", PASSWORD).headers["Retry-After"] == "10"
    clock.wait(days=-1)
    assert log_in(client, "owner", PASSWORD).status_code == 302
    assert Knock.objects.count() == 0


def test_guessing_the_old_password_on_ones_own_page_is_slowed_down_too(clock):
    client = browser_of(somebody())
    new = {"password": "seven steel screws", "again": "seven steel screws"}
    answers = [client.post("/people/me/", {"old": "a guess", **new}) for _ in range(6)]
    assert [answer.status_code for answer in answers] == [422] * 5 + [429]
    assert "This is not your password until now" in text(answers[0])
    assert "wait 10 seconds" in text(answers[5])


def test_the_name_of_a_try_is_not_kept_readably(client):
    somebody()
    fail(client, "a password in the wrong field")
    assert "wrong field" not in str(Knock.objects.values().get())


def test_the_answer_takes_as_much_hashing_whether_or_not_a_name_exists(monkeypatch):
    somebody("maker", "known")
    somebody("maker", "invited", None)
    barred = somebody("maker", "barred")
    actions.bar(somebody(), barred)
    hashed = []
    real = hashers.MD5PasswordHasher.encode
    monkeypatch.setattr(
        hashers.MD5PasswordHasher,
        "encode",
        lambda self, password, salt: hashed.append(password) or real(self, password, salt),
    )
    work = {}
    for name in ("known", "invited", "barred", "nobody"):
        hashed.clear()
        with pytest.raises(Refused, match="do not belong together"):
            entering.log_in(RequestFactory().post("/"), name, "a wrong guess")
        work[name] = len(hashed)
    assert set(work.values()) == {1}, work


def test_the_shop_itself_hashes_slowly():
    from combwright.shop import settings

    assert not hasattr(settings, "PASSWORD_HASHERS")
    from django.conf import global_settings

    slow = hashers.PBKDF2PasswordHasher
    assert global_settings.PASSWORD_HASHERS[0].endswith(slow.__name__)
    assert slow.iterations >= 600_000  # OWASP's figure for PBKDF2-SHA256 in 2023; from memory
    assert shop_settings.SESSION_COOKIE_HTTPONLY


@pytest.mark.parametrize(
    ("failed", "since", "left"),
    [(4, 0, 0), (5, 0, 10), (5, 9.5, 1), (5, 10, 0), (7, 0, 40), (11, 0, 640), (12, 0, 900),
     (5000, 0, 900), (5, -60, 10)],
)  # fmt: skip
def test_how_long_one_waits(failed, since, left):
    assert seconds_to_wait(failed, 5, since) == left


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(1, "1 second"), (40, "40 seconds"), (120, "120 seconds"), (121, "3 minutes"),
     (900, "15 minutes")],
)  # fmt: skip
def test_how_a_wait_is_said(seconds, words):
    assert in_words(seconds) == words


@pytest.mark.django_db(transaction=True)
@pytest.mark.data
def test_many_guesses_at_once_get_no_more_than_five_tries():
    somebody()
    tried = []

    def guess(n):
        try:
            entering.log_in(RequestFactory().post("/"), "owner", f"guess {n}")
        except Wait:
            tried.append("slowed")
        except Refused:
            tried.append("tried")
        finally:
            connections.close_all()

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(guess, range(24)))
    assert sorted(tried) == ["slowed"] * 19 + ["tried"] * 5


def test_a_barred_person_learns_it_only_with_the_right_password(client):
    actions.bar(somebody(), somebody("maker", "ida"))
    assert "do not belong together" in text(log_in(client, "ida", "a wrong guess"))
    answer = log_in(client, "ida", PASSWORD)
    assert "You are barred from this shop; ask the owner." in text(answer)
    assert not is_in(client)
