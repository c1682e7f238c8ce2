"""`kill -9` anywhere in a backup, a restore or a move: nothing is ever half done.

A process dies at a place of our choice (`keeping_command`); the places are spread over the whole
command. COMBWRIGHT_KILLS says how many times each command is killed; the suite does it a few times.
"""

import os
import random
import shutil
import time
from urllib.parse import urlsplit

import pytest
from django.db import connection

from combwright.shop.backups.folder import lying_in
from combwright.shop.backups.proof import prove
from combwright.shop.backups.reading import opened
from shop.backups.outside import Outside, a_database

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]
KILLS = int(os.environ.get("COMBWRIGHT_KILLS", "3"))
KILLED = -9
MARKER = "moved-to-postgresql.txt"


@pytest.fixture
def outside(tmp_path):
    if connection.vendor == "sqlite":
        yield Outside(tmp_path / "data")
    else:
        with a_database() as address:
            yield Outside(tmp_path / "data", address)


def deaths(places, seed):
    """Spread the places to die at over all there are, one in each stretch, and the last ones."""
    dice, stretch = random.Random(seed), places / KILLS
    spread = [1 + int(n * stretch + dice.random() * stretch) for n in range(KILLS)]
    return [*spread, places - 1, places]


def whole(folder):
    """List the backups of a folder; whatever has a backup's name must be one."""
    found = lying_in(folder)
    for each in found:
        with opened(each.path) as backup:
            prove(backup)
    return found


def test_a_backup_that_is_killed_leaves_none_or_a_whole_one(outside):
    before = outside.now(1)
    folder = outside.data / "backups"
    for step in deaths(outside.places("backup"), 1):
        had = len(whole(folder))
        assert outside.run("backup", dies=step).returncode == KILLED
        assert len(whole(folder)) - had in (0, 1)
        assert outside.look() == before
    assert outside.run("backup").returncode == 0


def test_a_restore_that_is_killed_leaves_the_shop_before_or_after_it(outside, tmp_path):
    old, path, kept = outside.now(1), tmp_path / "old.zip", tmp_path / "new.zip"
    assert outside.run("backup", path).returncode == 0
    new = outside.now(2, 3)
    assert outside.run("backup", kept).returncode == 0
    places = outside.places("restore", path, "--yes")
    assert outside.look() == old
    seen = set()
    for step in deaths(places, 2):
        if outside.look() != new:
            assert outside.run("restore", kept, "--yes").returncode == 0
            assert outside.look() == new
        assert outside.run("restore", path, "--yes", dies=step).returncode == KILLED
        found = outside.look()
        assert found in (old, new)
        seen.add(found == old)
        whole(outside.data / "backups")
    assert seen == {False, True}
    assert outside.now(4) not in (old, new)


def test_a_restore_that_is_killed_by_the_clock_leaves_it_too(outside, tmp_path):
    old, path = outside.now(1), tmp_path / "old.zip"
    assert outside.run("backup", path).returncode == 0
    new = outside.now(2)
    dice = random.Random(5)
    for _ in range(max(2, KILLS // 3)):
        began = outside.start("restore", path, "--yes")
        time.sleep(dice.uniform(0.3, 2.0))
        began.kill()
        began.wait()
        assert outside.look() in (old, new)


def test_a_move_that_is_killed_leaves_the_shop_where_it_was_or_moves_it_whole(tmp_path):
    if connection.vendor == "sqlite":
        pytest.skip("Moving needs PostgreSQL: python tests/with_postgresql.py.")
    first = Outside(tmp_path / "first")
    before = first.now(1)
    # Setting the new database up takes most statements; so it is done before.
    with a_database() as ready:
        template = urlsplit(ready).path.strip("/")
        empty = set_up(tmp_path, ready)
        places = moved(first, tmp_path / "counted", template, 10**9, before, empty)
        outcomes = {
            moved(first, tmp_path / f"at{step}", template, step, before, empty) == "moved"
            for step in deaths(places, 3)
        }
    assert outcomes == {False, True}


def set_up(tmp_path, address):
    """Bring an empty database up to date, as the command does first; return what is in it."""
    from django.db import connections

    from combwright.shop.backups.migration_state import migrate_fully
    from combwright.shop.backups.snapshots import beside
    from combwright.shop.where import postgresql

    with beside(postgresql(address)) as alias:
        migrate_fully(connections[alias])
    return Outside(tmp_path, address).look()


def moved(first, data, template, step, before, empty):
    """Move a copy of a shop and die meanwhile; return what came of it, or how many places."""
    shutil.copytree(first.data, data)
    with a_database(template) as address:
        source, target = Outside(data), Outside(data, address)
        done = source.run("move-shop", address, dies=step)
        assert source.look() == before
        there = target.look()
        assert there in (before, empty)
        if done.returncode == 0:
            assert there == before
            return int(done.stdout.split("PLACES ")[1])
        assert done.returncode == KILLED
        marked = (data / MARKER).exists()
        assert not marked or there == before
        (data / MARKER).unlink(missing_ok=True)
        assert source.now(4) != before
        return "moved" if there == before else "not moved"
