"""A write that is asked again under its key is done once, whatever broke in between."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.db import connections
from django.utils import timezone

from combwright.shop.api.models import Answered
from combwright.shop.api.once import KEPT_FOR, REPLAYED, tidy_key
from combwright.shop.rack.models import Bin, Entry
from combwright.shop.rack.queries import ledger_faults
from shop.api.programs import Program, a_program, a_token, problem, somebody
from shop.rack.shelves import a_bin

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def test_the_same_request_again_does_nothing_and_gets_the_first_answer():
    a_bin("A-1")
    program = a_program()
    first = program.post("/receive/A-1", {"plates": 3, "note": "x"}, key="delivery-1")
    again = program.post("/receive/A-1", b'{"note":"x",  "plates":3}', key="delivery-1")
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    assert REPLAYED not in first.headers
    assert again.headers[REPLAYED] == "true"
    assert again.headers["Content-Type"] == "application/json"
    assert Bin.objects.get().count == 3


@pytest.mark.parametrize(
    ("path", "body"),
    [("/receive/A-1", {"plates": 4}), ("/receive/A-2", {"plates": 3}), ("/release/b1", None)],
)
def test_another_request_under_the_same_key_is_a_mistake(path, body):
    a_bin("A-1")
    a_bin("A-2")
    program = a_program()
    program.post("/receive/A-1", {"plates": 3}, key="k")
    told = problem(program.post(path, body, key="k"), 422, "key-reused")
    assert '"k"' in told["detail"]
    assert Entry.objects.count() == 1


def test_a_refusal_stays_the_answer_to_its_key_and_another_key_asks_anew():
    a_bin("A-1", 1)
    program = a_program()
    scrap = {"plates": 2, "note": "x"}
    first = problem(program.post("/scrap/A-1", scrap, key="k"), 409, "refused")
    program.post("/receive/A-1", {"plates": 1})
    again = program.post("/scrap/A-1", scrap, key="k")
    assert problem(again, 409, "refused") == first
    assert again.headers[REPLAYED] == "true"
    assert Bin.objects.get().count == 2
    assert program.post("/scrap/A-1", scrap).status_code == 201


def test_a_request_that_was_wrong_in_itself_leaves_its_key_free():
    a_bin("A-1")
    program = a_program()
    problem(program.post("/receive/A-1", {"plates": 0}, key="k"), 422, "invalid")
    problem(program.post("/receive/none", {"plates": 1}, key="k"), 404, "not-there")
    assert not Answered.objects.exists()
    assert program.post("/receive/A-1", {"plates": 1}, key="k").status_code == 201


def test_a_write_that_a_bug_broke_is_not_done_and_can_be_repeated(monkeypatch):
    a_bin("A-1")
    program = a_program()

    def broken(*_given):
        raise RuntimeError("after the write, before the answer")

    with monkeypatch.context() as patched:
        patched.setattr("combwright.shop.api.bins.entry_told", broken)
        problem(program.post("/receive/A-1", {"plates": 1}, key="k"), 500, "our-fault")
    assert (Bin.objects.get().count, Answered.objects.count()) == (0, 0)
    assert program.post("/receive/A-1", {"plates": 1}, key="k").status_code == 201
    assert Bin.objects.get().count == 1


def test_a_key_belongs_to_its_token():
    a_bin("A-1")
    for _ in range(2):
        answer = Program(a_token()[1]).post("/receive/A-1", {"plates": 1}, key="k")
        assert answer.status_code == 201
        assert REPLAYED not in answer.headers
    assert Bin.objects.get().count == 2


def test_a_token_that_may_no_longer_gets_no_answer_again():
    a_bin("A-1", 5)
    person = somebody("maker")
    program = Program(a_token(person)[1])
    program.post("/scrap/A-1", {"plates": 1, "note": "x"}, key="k")
    person.role = "office"
    person.save()
    again = program.post("/scrap/A-1", {"plates": 1, "note": "x"}, key="k")
    problem(again, 403, "not-allowed")


def test_a_key_may_stand_in_quotation_marks_as_the_draft_has_it():
    a_bin("A-1")
    program = a_program()
    program.post("/receive/A-1", {"plates": 1}, key='"8e03978e-40d5"')
    again = program.post("/receive/A-1", {"plates": 1}, key="8e03978e-40d5")
    assert again.headers[REPLAYED] == "true"
    assert tidy_key(r'"a \"b\" \\"') == r'a "b" \ '.strip()
    assert tidy_key('""') == '""'


def test_answers_are_thrown_away_after_thirty_days():
    a_bin("A-1")
    program = a_program()
    program.post("/receive/A-1", {"plates": 1}, key="old")
    program.post("/receive/A-1", {"plates": 1}, key="young")
    assert timedelta(days=30) == KEPT_FOR
    Answered.objects.filter(key="old").update(
        made_at=timezone.now() - KEPT_FOR - timedelta(seconds=1)
    )
    program.post("/receive/A-1", {"plates": 1}, key="new")
    assert set(Answered.objects.values_list("key", flat=True)) == {"young", "new"}


@pytest.mark.django_db(transaction=True)
def test_of_many_at_once_under_one_key_one_does_it_and_all_get_its_answer():
    a_bin("A-1")
    text = a_token()[1]
    hands, keys = 6, [f"key-{n}" for n in range(5)]

    def one_hand(_n):
        try:
            program = Program(text)
            return [program.post("/receive/A-1", {"plates": 1}, key=key) for key in keys]
        finally:
            connections.close_all()

    with ThreadPoolExecutor(hands) as pool:
        answers = list(pool.map(one_hand, range(hands)))
    for of_one_key in zip(*answers, strict=True):
        assert {each.status_code for each in of_one_key} == {201}
        assert len({each.content for each in of_one_key}) == 1
        assert sum(REPLAYED not in each.headers for each in of_one_key) == 1
    assert Bin.objects.get().count == len(keys)
    assert Entry.objects.count() == len(keys)
    assert list(ledger_faults()) == []


@pytest.mark.django_db(transaction=True)
def test_many_programs_at_once_on_the_same_bins_keep_the_ledger_exact():
    for code in ("A-1", "A-2"):
        a_bin(code, 10)
    texts = [a_token()[1] for _ in range(4)]

    def one_program(text):
        try:
            program, statuses = Program(text), set()
            for n in range(10):
                here, there = ("A-1", "A-2") if n % 2 else ("A-2", "A-1")
                moved = program.post(f"/move/{here}", {"into": there, "plates": 3}, key=f"m{n}")
                counted = program.post(f"/count/{there}", {"found": 9}, key=f"c{n}")
                statuses |= {moved.status_code, counted.status_code}
            return statuses
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(texts)) as pool:
        statuses = set.union(*pool.map(one_program, texts))
    assert 201 in statuses
    assert statuses <= {201, 409}
    assert list(ledger_faults()) == []
