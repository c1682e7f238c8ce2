"""Whatever a program does wrong, it gets one clear line, as a problem document."""

import json
import logging
import re

import pytest
from django.test import Client

from combwright.notes.names import parse_midi
from combwright.shop.api import problems, words
from combwright.shop.api.document import openapi
from combwright.shop.rack.models import Bin, Entry
from shop.api.programs import Program, a_program, a_token, problem, somebody
from shop.rack.shelves import a_bin

pytestmark = pytest.mark.django_db


def fault(response, place):
    """Return what is said of one place of a request that was turned away."""
    told = problem(response, 422, "invalid")
    return next(each["detail"] for each in told["errors"] if place in each.values())


@pytest.mark.parametrize(
    ("body", "place", "says"),
    [
        ({}, "#/plates", "is missing."),
        ({"plates": 0}, "#/plates", "0 is too small; 1 is the least."),
        ({"plates": 100_001}, "#/plates", "100001 is too large; 100000 is the most."),
        ({"plates": 10**400}, "#/plates", "is too large"),
        ({"plates": "3"}, "#/plates", '"3" will not do; give a whole number.'),
        ({"plates": True}, "#/plates", "true will not do; give a whole number."),
        ({"plates": 1.5}, "#/plates", "1.5 will not do; give a whole number."),
        ({"plates": None}, "#/plates", "null will not do; give a whole number."),
        ({"plates": 1, "Note": "x"}, "#/Note", "is not known here; is it mistyped?"),
        ({"plates": 1, "a/b~": 1}, "#/a~1b~0", "is not known here"),
        ({"plates": 1, "note": "x" * 301}, "#/note", "300 characters are the most."),
        ({"plates": 1, "note": "a\x00b"}, "#/note", "without control characters"),
        ({"plates": 1, "note": "a\nb"}, "#/note", "one line of text"),
        ({"plates": 1, "note": " a"}, "#/note", "without blanks at its ends"),
        ({"plates": 1, "note": "\u202eevil"}, "#/note", "one line of text"),
        ({"plates": 1, "note": "\ud800"}, "#/note", "half a character"),
        ([], "#", "give an object with fields"),
        (None, "#", "is missing."),
        ("x", "#", "give an object with fields"),
    ],
)
def test_a_wrong_body_is_told_by_place_value_and_what_would_be_right(body, place, says):
    a_bin("A-1", 1)
    sent = b"" if body is None else json.dumps(body).encode()
    assert says in fault(a_program().post("/receive/A-1", sent), place)
    assert Entry.objects.count() == 1


def test_three_whole_plates_may_be_written_as_a_decimal():
    a_bin("A-1")
    assert a_program().post("/receive/A-1", b'{"plates": 3.0}').status_code == 201
    assert Bin.objects.get().count == 3


def test_all_faults_are_told_at_once():
    told = problem(a_program().post("/bins", {"bin": " ", "pitch": "H4", "x": 1}), 422, "invalid")
    assert [each["pointer"] for each in told["errors"]] == [
        "#/bin", "#/pitch", "#/slot_mm", "#/mount", "#/batch", "#/x",
    ]  # fmt: skip
    assert told["detail"].startswith('bin: " " is not one line of text')
    assert told["detail"].endswith("(and 5 more faults)")


@pytest.mark.parametrize(
    ("asked", "place", "says"),
    [
        ({"limit": 0}, "limit", "1 is the least"),
        ({"limit": 201}, "limit", "200 is the most"),
        ({"limit": "5_0"}, "limit", "give a whole number"),
        ({"pitch": "H4"}, "pitch", "a note without cents"),
        ({"mount": "side"}, "mount", "give one of 'front' or 'rear'"),
        ({"with_plates": "maybe"}, "with_plates", "give true or false"),
        ({"fits_mm": "nan"}, "fits_mm", "give a number"),
        ({"text": "x" * 61}, "text", "60 characters are the most"),
        ({"text": "a\x00"}, "text", "without NUL"),
        ({"notes": "C4"}, "notes", "is no question that is answered here"),
        ({"limit": ["1", "2"]}, "limit", "is asked more than once"),
    ],
)
def test_a_wrong_question_is_told_and_never_passed_over(asked, place, says):
    assert says in fault(a_program().get("/bins", asked), place)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b"{", "line 1, column 2"),
        (b"\xff{}", "not UTF-8 at byte 0"),
        (b'{"plates": NaN}', "NaN is no number in JSON"),
        (b'{"plates": 1, "plates": 2}', 'names "plates" twice'),
        (b"[" * 100_000, "too deep"),
        (b'{"plates": ' + b"1" * 5000 + b"}", "a number too long"),
    ],
)
def test_a_body_that_can_be_read_in_two_ways_or_none_is_turned_away(body, says):
    a_bin("A-1")
    assert says in problem(a_program().post("/receive/A-1", body), 400, "malformed")["detail"]


@pytest.mark.parametrize("length", [1024 * 1024 + 1, 9 * 1024 * 1024])
def test_a_body_of_more_than_a_mebibyte_is_too_large(length):
    a_bin("A-1")
    body = b'{"plates": 1}'.ljust(length)
    problem(a_program().post("/receive/A-1", body), 413, "too-large")


@pytest.mark.parametrize(
    "kind",
    ["text/plain", "application/x-www-form-urlencoded", "application/json; charset=latin-1", ""],
)
def test_a_body_of_another_kind_is_turned_away(kind):
    a_bin("A-1")
    _token, text = a_token()
    headers = {"Authorization": f"Bearer {text}", "Idempotency-Key": "k"}
    answer = Client().post(
        "/api/v1/receive/A-1", b'{"plates": 1}', content_type=kind, headers=headers
    )
    problem(answer, 415, "not-json")


@pytest.mark.parametrize("key", ["", "k" * 201, "a\tb", "\u00e4"])
def test_a_write_without_a_usable_key_is_turned_away(key):
    a_bin("A-1")
    program = a_program()
    headers = {"Idempotency-Key": key} if key else {}
    told = problem(
        program.post("/receive/A-1", {"plates": 1}, key="", headers=headers), 400, "key-wanted"
    )
    assert "1 to 200" in told["detail"]
    assert Entry.objects.count() == 0


def test_an_answer_that_may_not_be_json_cannot_be_given():
    program = a_program()
    problem(program.get("/bins", headers={"Accept": "text/html"}), 406, "json-only")
    assert program.get("/bins", headers={"Accept": "text/html, */*;q=0.1"}).status_code == 200


@pytest.mark.parametrize("method", ["get", "post", "put", "delete", "patch", "options"])
@pytest.mark.parametrize("path", ["/api/v1/", "/api/v1", "/api/v1/no/such", "/api/v1/bins/"])
def test_an_address_that_is_none_is_told_so_to_anybody(method, path):
    told = problem(getattr(Client(), method)(path), 404, "not-there")
    assert path in told["detail"]


def test_a_method_that_is_not_taken_is_told_with_those_that_are():
    answer = a_program().client.put("/api/v1/bins")
    assert "PUT cannot be asked" in problem(answer, 405, "wrong-method")["detail"]
    assert answer.headers["Allow"] == "GET, POST"


def test_another_hosts_name_is_told_as_a_problem_too():
    told = problem(Client(SERVER_NAME="elsewhere.example").get("/api/v1/bins"), 400, "malformed")
    assert "host" in told["detail"]


def test_a_token_that_came_over_plain_http_is_called_no_secret(settings):
    settings.SECURE_SSL_REDIRECT = True
    answer = Client().get("/api/v1/bins", headers={"Authorization": "Bearer cw_x"})
    assert "no secret now" in problem(answer, 403, "https-only")["detail"]


def test_who_asks_too_often_is_told_when_to_come_again(settings):
    settings.MOST_A_SECOND = 0.01
    client = Client()
    client.get("/api/v1/me")
    answer = client.get("/api/v1/me")
    assert "asked too often" in problem(answer, 429, "too-often")["detail"]
    assert int(answer.headers["Retry-After"]) > 0


def test_a_bug_is_told_as_a_problem_and_logged_under_its_instance(monkeypatch, caplog):
    def broken():
        raise RuntimeError("as if a bug were here")

    monkeypatch.setattr("combwright.shop.api.bins.queries.totals", broken)
    program = a_program()
    with caplog.at_level(logging.INFO):
        told = problem(program.get("/totals"), 500, "our-fault")
    assert any(told["instance"] in record.getMessage() for record in caplog.records)
    assert any(record.exc_info for record in caplog.records)


def test_a_busy_database_is_told_with_when_to_come_again(monkeypatch):
    from django.db import OperationalError

    def locked(*_given, **_more):
        raise OperationalError("database is locked")

    monkeypatch.setattr("combwright.shop.api.bins.actions.receive", locked)
    a_bin("A-1")
    answer = a_program().post("/receive/A-1", {"plates": 1})
    problem(answer, 503, "busy")
    assert int(answer.headers["Retry-After"]) > 0


def test_two_who_make_one_bin_at_once_are_told_so(monkeypatch):
    from django.db import IntegrityError

    def crossed(*_given, **_more):
        raise IntegrityError("as the database says when somebody was faster")

    monkeypatch.setattr("combwright.shop.api.bins.actions.make_bin", crossed)
    body = {"bin": "N", "pitch": "C4", "slot_mm": 14, "mount": "rear", "batch": "b"}
    problem(a_program().post("/bins", body), 409, "crossed")


def test_neither_tokens_nor_what_was_typed_are_in_the_log(caplog):
    a_bin("A-1", 1)
    _token, text = a_token()
    program = Program(text)
    with caplog.at_level(logging.DEBUG):
        program.post("/scrap/A-1", {"plates": 9, "note": "a-secret-note"}, key="a-secret-key")
        program.post("/receive/A-1", {"plates": 0, "note": "a-secret-note"})
        Program("cw_wrong-token-here").get("/bins", {"text": "a-secret-question"})
    logged = caplog.text
    assert "event=problem kind=refused" in logged
    assert text not in logged
    assert text[9:] not in logged
    for secret in ("wrong-token-here", "a-secret-note", "a-secret-key", "a-secret-question"):
        assert secret not in logged


def test_every_kind_of_problem_is_explained_on_its_page(client):
    client.force_login(somebody())
    page = client.get("/api/problems/").content.decode()
    for kind in problems.KINDS:
        assert f'id="{kind.name}"' in page
        assert f'id="status-{kind.status}"' in page
        assert re.fullmatch(r"[a-z-]+", kind.name)


def test_a_note_in_a_request_is_what_the_makers_files_take():
    def reads(text):
        try:
            return parse_midi(text) >= 0
        except Exception:
            return False

    signs = ["", "#", "##", "♯", "b", "bb", "♭", "#b", "###", "x"]
    for letter in "ABCDEFGHabcdefg":
        for sign in signs:
            for octave in ("-2", "-1", *map(str, range(11)), ""):
                text = letter + sign + octave
                assert bool(re.fullmatch(words.NOTE[1:-1], text)) == reads(text), text


def test_the_keys_of_sets_are_the_ordinary_ones():
    from combwright.notes.keys import ORDINARY_KEYS

    assert words.OrdinaryKey.__args__ == ORDINARY_KEYS


def test_every_pattern_of_the_document_has_words_for_people():
    patterns = set(re.findall(r'"pattern": "((?:[^"\\]|\\.)*)"', json.dumps(openapi())))
    assert patterns
    assert {json.loads(f'"{each}"') for each in patterns} <= set(words.MEANING)
