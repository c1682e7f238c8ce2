"""A backup of an earlier version is brought up to date aside, then brought back."""

import pytest
from django.apps import apps
from django.db import connections, transaction
from django.utils import timezone

from combwright.shop.backups.migration_state import known, migrate_to
from combwright.shop.backups.restoring import restore
from combwright.shop.backups.snapshots import beside
from combwright.shop.backups.sources import DatabaseSource
from combwright.shop.backups.tables import in_order, table_of
from combwright.shop.backups.writing import write
from combwright.shop.people.models import Person
from combwright.shop.rack.models import Bin, Entry
from combwright.shop.rack.queries import ledger_faults
from combwright.shop.where import sqlite
from shop.rack.shelves import a_bin, somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]
FIRST = {"people": ["0001_people"], "rack": ["0001_rack"]}


def an_older_backup(tmp_path):
    """Write a backup as the shop's very first version would: of two rooms, a migration each."""
    path = tmp_path / "older.zip"
    with beside(sqlite(tmp_path / "older.sqlite3")) as alias:
        old = migrate_to(connections[alias], FIRST).apps
        with transaction.atomic(using=alias):
            fill(old, alias)
            models = [m for m in old.get_models() if m._meta.app_label in FIRST]
            source = DatabaseSource(alias, in_order(models))
            write(source, path, made_at=timezone.now(), migrations=FIRST)
    return path


def fill(old, alias):
    def make(label, **values):
        return old.get_model(label).objects.using(alias).create(**values)

    ida = make("people.person", name="ida", full_name="Ida", role="owner", password="x")
    batch = make("rack.batch", code="old batch")
    plates = make(
        "rack.bin", code="old bin", midi=60, slot_um=16_000, mount="front", batch=batch, count=4
    )
    entry = make("rack.entry", made_by=ida, why="received", note="long ago")
    make("rack.line", entry=entry, bin=plates, change=4, after=4)


def test_it_comes_back_as_this_version_has_it(tmp_path, folder):
    assert set(known()["rack"]) > set(FIRST["rack"])
    a_bin("new", 3)
    done = restore(an_older_backup(tmp_path), folder)
    assert list(Bin.objects.values_list("code", "count")) == [("old bin", 4)]
    assert Entry.objects.get().note == "long ago"
    assert Person.objects.get().name == "ida"
    assert list(ledger_faults()) == []
    assert done.earlier.exists()
    a_bin("after", 2)


def test_what_it_lacks_is_empty_or_what_a_new_shop_has(tmp_path, folder):
    somebody()
    restore(an_older_backup(tmp_path), folder)
    for model in apps.get_app_config("rack").get_models():
        if model._meta.label_lower not in {"rack.batch", "rack.bin", "rack.entry", "rack.line"}:
            assert not model.objects.exists()
    assert table_of(Bin, [Bin]).label == "rack.bin"
