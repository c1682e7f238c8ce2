"""Files that are not to be trusted: one clear line, and nothing changed."""

import contextlib
import json
import zipfile
from dataclasses import replace

import pytest
from django.db import connection, transaction

from combwright.errors import CombwrightError
from combwright.shop.backups import seal, values
from combwright.shop.backups.making import make
from combwright.shop.backups.manifest import BadBackup
from combwright.shop.backups.reading import glance, opened
from combwright.shop.backups.restoring import restore
from combwright.shop.backups.snapshots import snapshot
from combwright.shop.backups.sources import sums
from combwright.shop.backups.writing import CannotBackUp
from combwright.shop.rack.models import Bin
from shop.backups.shops import a_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]


def now():
    with snapshot() as source:
        return sums(source)


@pytest.fixture
def made(folder):
    a_shop()
    return make(folder / "one.zip")[0]


def refusal(path, folder):
    """Bring a file back that must be refused: one line, the shop untouched, nothing written."""
    before, files = now(), sorted(folder.iterdir())
    with pytest.raises(CombwrightError) as caught:
        restore(path, folder)
    assert now() == before
    assert sorted(folder.iterdir()) == files
    text = str(caught.value)
    assert text
    assert len(text.splitlines()) == 1
    return text


def test_a_changed_byte_anywhere_is_refused(made, folder):
    sound = made.read_bytes()
    bad = folder / "bad.zip"
    # Every byte of the end, where the zip's own directory is; elsewhere one in so many.
    places = {*range(0, len(sound), 97), *range(max(0, len(sound) - 400), len(sound), 7)}
    for place in sorted(places):
        changed = bytearray(sound)
        changed[place] ^= 0x10
        bad.write_bytes(changed)
        with pytest.raises(BadBackup, match="was changed since"), opened(bad):
            pass
    bad.write_bytes(bytes(changed))
    assert "was changed since it was written" in refusal(bad, folder)


@pytest.mark.parametrize("length", [0, 1, 70, 71, 1000, -1, -72])
def test_a_file_that_breaks_off_is_refused(made, folder, length):
    bad = folder / "bad.zip"
    bad.write_bytes(made.read_bytes()[:length])
    assert "not whole" in refusal(bad, folder)


def test_a_file_that_is_none_or_is_not_there_is_refused(made, folder):
    other = folder / "x.txt"
    other.write_text("not a backup " * 100)
    assert "it is no backup" in refusal(other, folder)
    assert "No such file" in refusal(folder / "none.zip", folder)
    assert "Is a directory" in refusal(folder, folder)


def rewritten(made, change):
    """Write a backup anew, sealed and consistent with itself, with its contents changed."""
    with zipfile.ZipFile(made) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(files.pop("manifest.json"))
    rows = {
        each["table"]["label"]: [json.loads(line) for line in files[each["file"]].splitlines()]
        for each in manifest["contents"]
    }
    change(manifest, rows)
    import hashlib

    from combwright.shop.backups.sources import Adder

    path = made.with_name("rewritten.zip")
    with zipfile.ZipFile(path, "w") as archive:
        archive.comment = seal.BLANK
        for each in manifest["contents"]:
            adder, lines = Adder(), b""
            for row in rows[each["table"]["label"]]:
                line = values.line(row)
                adder.add(line)
                lines += line
            if each.pop("lie", False):
                adder = Adder()
            each["sum"] = {"rows": adder.sum.rows, "digest": adder.sum.digest}
            each["sha256"] = hashlib.sha256(lines).hexdigest()
            archive.writestr(each["file"], lines)
        archive.writestr("manifest.json", json.dumps(manifest))
    seal.put(path)
    return path


def column(manifest, label, name):
    (about,) = [e["table"] for e in manifest["contents"] if e["table"]["label"] == label]
    return about["columns"].index(name)


def a_count_too_high(manifest, rows):
    rows["rack.bin"][0][column(manifest, "rack.bin", "count")] += 1


def a_line_lost(manifest, rows):
    rows["rack.line"].pop(0)


def a_line_twice(manifest, rows):
    rows["rack.line"].append(rows["rack.line"][-1])


def a_debt(manifest, rows):
    after, change = (column(manifest, "rack.line", n) for n in ("after", "change"))
    rows["rack.line"][0][change] = rows["rack.line"][0][after] = -3


def an_entry_lost(manifest, rows):
    rows["rack.entry"].pop(0)


def a_person_lost(manifest, rows):
    rows["people.person"].clear()


def a_line_touching_twice(manifest, rows):
    last = list(rows["rack.line"][-1])
    last[column(manifest, "rack.line", "id")] += 1
    last[column(manifest, "rack.line", "change")] = 0
    rows["rack.line"].append(last)


def rows_that_are_not_those(manifest, rows):
    (about,) = [e for e in manifest["contents"] if e["table"]["label"] == "rack.bin"]
    about["lie"] = True


def a_newer_format(manifest, rows):
    manifest["format"] += 1
    manifest["version"] = "9.9"


def an_unknown_migration(manifest, rows):
    manifest["migrations"]["rack"].append("9999_of_the_future")
    manifest["version"] = "9.9"


def a_column_too_few(manifest, rows):
    place = column(manifest, "rack.batch", "about")
    (about,) = [e["table"] for e in manifest["contents"] if e["table"]["label"] == "rack.batch"]
    about["columns"].pop(place)
    for row in rows["rack.batch"]:
        row.pop(place)


def a_count_that_is_no_number(manifest, rows):
    rows["rack.bin"][0][column(manifest, "rack.bin", "count")] = "many"


def a_moment_that_is_none(manifest, rows):
    rows["rack.entry"][0][column(manifest, "rack.entry", "made_at")] = "yesterday"


def no_manifest_worth_the_name(manifest, rows):
    manifest["migrations"] = None


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (a_count_too_high, "and its lines make"),
        (a_line_lost, "the lines up to it make|and its lines make"),
        (a_line_twice, "have the key"),
        (a_debt, "leaves -3"),
        (an_entry_lost, "there is none"),
        (a_person_lost, "there is none"),
        (a_line_touching_twice, "touches rack.bin"),
        (rows_that_are_not_those, "not those that the manifest names"),
        (a_newer_format, r"of format 2 \(Combwright 9.9\)"),
        (an_unknown_migration, "rack.9999_of_the_future"),
        (a_column_too_few, "other columns here"),
        (a_count_that_is_no_number, "holds many"),
        (a_moment_that_is_none, "cannot hold the table rack.entry"),
        (no_manifest_worth_the_name, "manifest.json cannot be read"),
    ],
)
def test_a_backup_that_was_meddled_with_is_refused_though_its_seal_is_whole(
    made, folder, change, said
):
    import re

    path = rewritten(made, change)
    text = refusal(path, folder)
    assert re.search(said, text), text


def test_a_backup_rewritten_without_a_change_is_taken(made, folder):
    before = now()
    restore(rewritten(made, lambda manifest, rows: None), folder)
    assert now() == before


def test_a_file_that_is_there_is_never_written_over(made):
    held = made.read_bytes()
    with pytest.raises(CannotBackUp, match="already, and a backup never replaces one"):
        make(made)
    assert made.read_bytes() == held


def test_a_place_that_cannot_be_written_to_is_told(made, folder):
    with pytest.raises(CannotBackUp, match="cannot be written"):
        make(made / "inside-a-file.zip")


def test_a_disk_that_is_full_leaves_no_half_backup(made, folder, monkeypatch):
    from combwright.shop.backups import writing

    def full(*_arguments):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing.os, "fsync", full)
    with pytest.raises(CannotBackUp, match="No space left on device"):
        make(folder / "two.zip")
    assert [each.name for each in folder.iterdir()] == ["one.zip"]


def test_a_shop_whose_ledger_does_not_add_up_is_not_said_to_be_safe(made, folder):
    Bin.objects.filter(code="A-0").update(count=99)
    with pytest.raises(BadBackup, match="holds 99, and its lines make"):
        make(folder / "two.zip")
    assert [each.name for each in folder.iterdir()] == ["one.zip"]


def test_a_shop_whose_ledger_does_not_add_up_can_be_brought_back_to_one_that_does(made, folder):
    before = now()
    Bin.objects.filter(code="A-0").update(count=99)
    done = restore(made, folder)
    assert now() == before
    manifest = glance(done.earlier)
    assert manifest is not None
    assert "holds 99" in refusal(done.earlier, folder)


def test_rows_that_differ_in_the_database_undo_the_whole_restore(made, folder, monkeypatch):
    from combwright.shop.backups.reading import BackupFile

    def lied(self):
        found = dict(honest(self))
        found["rack.bin"] = replace(found["rack.bin"], rows=0)
        return found

    honest = BackupFile.sums
    monkeypatch.setattr(BackupFile, "sums", lied)
    before = now()
    with pytest.raises(BadBackup, match=r"rows of rack\.bin did not come back"):
        restore(made, folder)
    assert now() == before


def test_nobody_sees_a_restore_that_is_not_done(made, folder, monkeypatch):
    from combwright.shop.backups import restoring

    seen = []
    honest = restoring._prove_same

    def look(source):
        with contextlib.suppress(CombwrightError), snapshot() as beside:
            seen.append(sums(beside))
        honest(source)

    Bin.objects.filter(code="A-2").update(walk="elsewhere")
    before = now()
    monkeypatch.setattr(restoring, "_prove_same", look)
    restore(made, folder)
    assert seen == [before]
    assert now() != before
    assert not connection.in_atomic_block
    with transaction.atomic():
        pass
