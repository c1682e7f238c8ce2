"""A backup is one moment of the shop, and people go on writing while it is made."""

import threading

import pytest
from django.db import connections

from combwright.shop.backups import writing
from combwright.shop.backups.making import make
from combwright.shop.backups.proof import prove
from combwright.shop.backups.reading import opened
from combwright.shop.backups.restoring import restore
from combwright.shop.backups.snapshots import snapshot
from combwright.shop.backups.sources import DatabaseSource, sums
from combwright.shop.rack import actions
from combwright.shop.rack.models import Bin, Line
from combwright.shop.rack.queries import ledger_faults
from shop.backups.shops import a_shop, plates
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]
HANDS = 3


def test_people_write_while_a_backup_is_made_and_it_adds_up(folder):
    a_shop()
    done, written, faults = threading.Event(), [0] * HANDS, []

    def hand(n):
        try:
            person, here = somebody(), Bin.objects.get(code=f"A-{n}")
            while not done.is_set():
                actions.receive(person, here, 1)
                written[n] += 1
        except Exception as error:
            faults.append(error)
        finally:
            connections.close_all()

    hands = [threading.Thread(target=hand, args=[n]) for n in range(HANDS)]
    for each in hands:
        each.start()
    try:
        made = [make(folder / f"{n}.zip") for n in range(4)]
    finally:
        done.set()
        for each in hands:
            each.join()
    assert faults == []
    assert all(written)
    rows = [
        next(c.sum.rows for c in manifest.contents if c.table.label == "rack.line")
        for _path, manifest in made
    ]
    assert rows == sorted(rows)
    assert list(ledger_faults()) == []
    restore(made[1][0], folder)
    assert Line.objects.count() == rows[1]
    assert list(ledger_faults()) == []


def test_who_writes_in_the_middle_of_a_backup_neither_waits_nor_is_in_it(folder, monkeypatch):
    owner = a_shop()
    before = plates()
    honest, wrote = DatabaseSource.rows, []

    def rows(self, table):
        if table.label == "rack.line" and not wrote:
            # Bins are written already: without one moment for all, the line would be one too many.
            actions.receive(owner, Bin.objects.get(code="A-0"), 7)
            wrote.append(Line.objects.count())
        return honest(self, table)

    monkeypatch.setattr(DatabaseSource, "rows", rows)
    path, manifest = make(folder / "one.zip")
    monkeypatch.undo()
    assert wrote
    assert plates()["A-0"] == before["A-0"] + 7
    with opened(path) as backup:
        prove(backup)
    (lines,) = [c.sum.rows for c in manifest.contents if c.table.label == "rack.line"]
    assert lines == wrote[0] - 1


def test_a_snapshot_takes_no_rows(folder):
    from django.db import Error

    from combwright.shop.rack.models import Batch

    a_shop()
    with pytest.raises(Error), snapshot() as source:
        Batch.objects.using(source.alias).create(code="no")
    with snapshot() as source:
        assert sums(source)
    assert writing.Told


def test_people_who_wait_for_a_restore_write_into_the_shop_that_it_left(folder, monkeypatch):
    from combwright.shop.backups import restoring

    a_shop()
    path, _manifest = make(folder / "one.zip")
    before, faults = plates(), []
    waiting = []

    def late():
        try:
            actions.receive(somebody(), Bin.objects.get(code="A-0"), 3)
        except Exception as error:
            faults.append(error)
        finally:
            connections.close_all()

    honest = restoring._prove_same

    def slowly(source):
        thread = threading.Thread(target=late)
        thread.start()
        thread.join(0.5)
        waiting.append(thread)
        assert thread.is_alive()  # it waits, and is not refused
        honest(source)

    monkeypatch.setattr(restoring, "_prove_same", slowly)
    restore(path, folder)
    waiting[0].join(20)
    assert faults == []
    assert plates() == {**before, "A-0": before["A-0"] + 3}
    assert list(ledger_faults()) == []
