"""A backup brought back is the shop as it was: every value, every moment, every line."""

import json
import zipfile

import pytest
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combwright.shop.backups.making import make
from combwright.shop.backups.manifest import FORMAT
from combwright.shop.backups.migration_state import known
from combwright.shop.backups.restoring import restore
from combwright.shop.backups.snapshots import snapshot
from combwright.shop.backups.sources import sums
from combwright.shop.people.actions import make_link
from combwright.shop.people.models import Link, Person
from combwright.shop.rack import actions
from combwright.shop.rack.models import Batch, Bin, Entry, Line, Upload
from combwright.shop.rack.queries import ledger_faults
from shop.backups.shops import LATE, a_shop, logins, one_turn, plates
from shop.rack.shelves import a_bin, somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]
#: What databases spoil: letters of all kinds, but none that no database takes.
TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=60)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | TEXT
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=8,
)  # fmt: skip


def now():
    with snapshot() as source:
        return sums(source)


def test_everything_comes_back_as_it_was(folder):
    a_shop()
    before, held, people = now(), plates(), logins()
    moments = list(Entry.objects.order_by("pk").values_list("made_at", "corrects_id"))
    path, _manifest = make(folder / "one.zip")
    actions.receive(Person.objects.get(), Bin.objects.get(code="A-1"), 100)
    Batch.objects.create(code="later")
    done = restore(path, folder)
    assert now() == before
    assert (plates(), logins()) == (held, people)
    assert list(Entry.objects.order_by("pk").values_list("made_at", "corrects_id")) == moments
    assert Bin.objects.get(code="A-1").counted_at == LATE
    assert str(Bin.objects.get(code="A-1").cost) == "1234567.89"
    assert bytes(Upload.objects.get().data) == bytes(range(256))
    assert list(ledger_faults()) == []
    assert done.earlier is not None
    assert done.earlier.parent == folder


def test_what_a_restore_replaced_can_be_brought_back_too(folder):
    a_shop()
    path, _manifest = make(folder / "one.zip")
    actions.receive(Person.objects.get(), Bin.objects.get(code="A-1"), 100)
    later = plates()
    done = restore(path, folder)
    assert plates() != later
    restore(done.earlier, folder)
    assert plates() == later


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    texts=st.lists(TEXT, min_size=1, max_size=4),
    document=JSON,
    data=st.binary(max_size=300),
    seed=st.integers(0, 999),
)
def test_any_rack_comes_back_as_it_was(folder, texts, document, data, seed):
    owner = a_shop(seed, turns=3)
    for text in texts:
        actions.receive(owner, Bin.objects.order_by("code").first(), 1, note=text)
    Upload.objects.create(
        made_by=owner, name="x", data=data, sha256="0" * 64, earlier={"it": document}
    )
    notes = list(Entry.objects.order_by("pk").values_list("note", flat=True))
    kept = Upload.objects.order_by("-pk").first()
    there, before = (bytes(kept.data), kept.earlier), now()
    path = folder / "any.zip"
    path.unlink(missing_ok=True)
    make(path)
    restore(path, folder)
    assert now() == before
    assert list(Entry.objects.order_by("pk").values_list("note", flat=True)) == notes
    back = Upload.objects.get(pk=kept.pk)
    assert (bytes(back.data), back.earlier) == there


def test_a_backup_says_what_it_holds_in_plain_files(folder):
    a_shop()
    path, _manifest = make(folder / "one.zip")
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        manifest = json.loads(archive.read("manifest.json"))
        bins = archive.read("tables/rack.bin.jsonl").decode().splitlines()
    assert manifest["format"] == FORMAT
    assert manifest["migrations"] == known()
    (about,) = [each for each in manifest["contents"] if each["table"]["label"] == "rack.bin"]
    assert about["sum"]["rows"] == len(bins) == Bin.objects.count()
    rows = [dict(zip(about["table"]["columns"], json.loads(each), strict=True)) for each in bins]
    assert {row["code"]: row["count"] for row in rows} == plates()
    labels = [each["table"]["label"] for each in manifest["contents"]]
    assert labels.index("people.person") < labels.index("rack.entry") < labels.index("rack.line")


def test_sessions_links_and_jobs_are_left_out_and_end(folder):
    owner = a_shop()
    Client().force_login(owner)
    make_link(owner, 1)
    path, manifest = make(folder / "one.zip")
    labels = {each.table.label for each in manifest.contents}
    assert labels >= {"people.person", "rack.bin", "rack.entry", "rack.line", "backups.backupplan"}
    assert not {label for label in labels if label.startswith(("sessions.", "jobs."))}
    assert not {"people.link", "people.knock", "backups.check"} & labels
    assert Session.objects.exists()
    restore(path, folder)
    assert not Session.objects.exists()
    assert not Link.objects.exists()


def test_work_goes_on_after_a_restore_with_keys_that_are_free(folder):
    a_shop()
    path, _manifest = make(folder / "one.zip")
    Entry.objects.all()
    for model in (Line, Entry, Upload):
        model.objects.filter(pk__gt=0)
    restore(path, folder)
    last = Entry.objects.order_by("-pk").first().pk
    entry = actions.receive(Person.objects.get(), Bin.objects.get(code="A-0"), 2)
    assert entry.pk > last
    a_bin("new", 3)
    assert list(ledger_faults()) == []


def test_an_empty_shop_takes_a_backup_without_backing_up_nothing(folder):
    a_shop()
    held = plates()
    path, _manifest = make(folder / "one.zip")
    with connection.cursor() as cursor:
        for table in ("rack_upload", "rack_line", "rack_entry", "rack_bin", "rack_batch"):
            cursor.execute(f"DELETE FROM {table}")
    Person.objects.all().delete()
    done = restore(path, folder)
    assert done.earlier is None
    assert plates() == held
    assert [each.name for each in folder.iterdir()] == ["one.zip"]


def test_a_ledger_with_many_turns_proves(folder):
    from random import Random

    owner, dice = a_shop(), Random(3)
    for _ in range(60):
        one_turn(dice, owner)
    path, manifest = make(folder / "one.zip")
    assert manifest.rows > 100
    before = now()
    restore(path, folder)
    assert now() == before
    assert somebody().check_password("a long enough password")
