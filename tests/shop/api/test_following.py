"""A program that follows the ledger misses nothing, though entries may appear out of order."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.utils import timezone

from combwright.shop.api import queries
from combwright.shop.api.ledger import MOST_LINES
from combwright.shop.rack import actions
from combwright.shop.rack.models import Entry, Line
from shop.api.programs import a_program, somebody
from shop.rack.shelves import a_bin

pytestmark = [pytest.mark.django_db, pytest.mark.data]


@pytest.mark.parametrize(
    ("last", "numbers", "limit"),
    [(4, [5, 6, 7], 7), (4, [5, 7], 5), (4, [6, 7], 4), (4, [], 4)],
)
def test_what_comes_after_a_gap_waits(last, numbers, limit):
    assert queries.before_a_gap(last, numbers) == limit


def seen(program, after):
    return [each["entry"] for each in program.get("/entries", {"after": after}).json()["entries"]]


def test_entries_after_a_young_gap_are_held_back_and_after_an_old_one_are_not(monkeypatch):
    # As on PostgreSQL, where the write that took the number between them may not have ended.
    monkeypatch.setattr(queries, "connection", SimpleNamespace(vendor="postgresql"))
    plate_bin = a_bin("A-1")
    first, gap, last = (actions.receive(somebody(), plate_bin, 1).pk for _ in range(3))
    Line.objects.filter(entry=gap).delete()
    Entry.objects.filter(pk=gap).delete()
    program = a_program()
    assert seen(program, first - 1) == [first]
    Entry.objects.update(made_at=timezone.now() - timedelta(minutes=2))
    assert seen(program, first - 1) == [first, last]


def test_a_part_with_a_large_import_ends_early_and_the_next_goes_on():
    assert MOST_LINES == 5_000
    plate_bin = a_bin("A-1")
    numbers = [actions.receive(somebody(), plate_bin, 1).pk for _ in range(4)]
    from combwright.shop.api import ledger

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(ledger, "MOST_LINES", 2)
        part = a_program().get("/entries", {"after": numbers[0] - 1}).json()
        assert [each["entry"] for each in part["entries"]] == numbers[:2]
        assert part["more"] is True
        patched.setattr(ledger, "MOST_LINES", 0)
        part = a_program().get("/entries", {"after": part["next"]}).json()
        assert [each["entry"] for each in part["entries"]] == numbers[2:3]
