"""`kill -9` in the middle of an import and of moves: nothing is ever half done.

The work goes on in processes of their own, on a database of their own: a file, or one beside the
tests' own in PostgreSQL. COMBWRIGHT_KILLS says how many are killed.
"""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

pytestmark = pytest.mark.data

KILLS = int(os.environ.get("COMBWRIGHT_KILLS", "10"))
SHOP = Path(__file__).with_name("shop.py")
BINS, PLATES, ROWS = 8, 50, 200
AT_FIRST = 5  # done in peace, to see how long one takes


@pytest.fixture
def shop(tmp_path):
    """Give the environment of a shop of its own, with nothing in it."""
    env = {**os.environ, "COMBWRIGHT_DATA": str(tmp_path), "COMBWRIGHT_DATABASE": ""}
    env["PYTHONPATH"] = os.pathsep.join(path for path in sys.path if path)
    if not settings.DATABASES["default"]["ENGINE"].endswith("postgresql"):
        yield env
        return
    address, name = os.environ["COMBWRIGHT_DATABASE"], f"killed_{os.getpid()}"
    on_server(address, f"CREATE DATABASE {name}")
    server, _, query = address.partition("?")
    env["COMBWRIGHT_DATABASE"] = f"{server.rsplit('/', 1)[0]}/{name}?{query}"
    yield env
    on_server(address, f"DROP DATABASE {name} WITH (FORCE)")


def on_server(address, statement):
    import psycopg

    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(statement)


def check(found):
    """Hold a shop against what must be so whenever one looks."""
    assert found["faults"] == []
    assert found["unlike"] == 0
    assert found["bare"] == 0
    entries = found["entries"]
    assert [why for why, *_ in entries].count("received") == 1
    # A move takes as much as it gives.
    assert {(lines, total) for why, lines, total in entries if why == "moved"} <= {(2, 0)}
    # An import is there with all its bins or not at all; old ones are named where they change.
    imports = [lines for why, lines, _total in entries if why == "imported"]
    assert set(imports) <= {ROWS, ROWS + BINS}
    assert found["booked"] == len(imports)
    assert found["new"] == ROWS * len(imports)


@pytest.mark.parametrize("what", ["import", "move"])
def test_a_kill_at_any_moment_leaves_nothing_half_done(shop, what):
    done = subprocess.run(
        [sys.executable, SHOP, what, str(KILLS // 2)],
        env=shop, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    *found, half = [json.loads(line) for line in done.stdout.splitlines()]
    assert [each["ended"] for each in found] == [-signal.SIGKILL] * (KILLS // 2)
    lengths = [1 + AT_FIRST] + [len(each["entries"]) for each in found]
    assert lengths == sorted(lengths), "what was there is never lost"
    assert lengths[-1] > lengths[0], "no worker got to its first entry: the kills prove nothing"
    for each in found:
        check(each)
        assert what != "move" or each["plates"] == BINS * PLATES
    with pytest.raises(AssertionError):
        check(half)
