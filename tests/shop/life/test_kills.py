"""`kill -9` while plates are set aside, picked, built in and sent: nothing is ever half done.

The people are processes of their own, on a database of their own: a file, or one beside the tests'
own in PostgreSQL. COMBWRIGHT_KILLS says how many are killed.
"""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from shop.crashes.test_kill import on_server

pytestmark = pytest.mark.data

KILLS = int(os.environ.get("COMBWRIGHT_KILLS", "24"))
SHOP = Path(__file__).with_name("killed.py")
WHATS = ("aside", "pick", "build", "ship")
#: So many in one shop at most: the proofs look at all of it after every kill.
IN_ONE = 50


@pytest.fixture
def shop(tmp_path):
    """Give a maker of environments, each of a shop of its own with nothing in it."""
    made = []

    def new():
        folder = tmp_path / str(len(made))
        folder.mkdir()
        env = {**os.environ, "COMBWRIGHT_DATA": str(folder), "COMBWRIGHT_DATABASE": ""}
        env["PYTHONPATH"] = os.pathsep.join(path for path in sys.path if path)
        made.append(f"killed_{os.getpid()}_{len(made)}")
        if settings.DATABASES["default"]["ENGINE"].endswith("postgresql"):
            address = os.environ["COMBWRIGHT_DATABASE"]
            on_server(address, f"CREATE DATABASE {made[-1]}")
            server, _, query = address.partition("?")
            env["COMBWRIGHT_DATABASE"] = f"{server.rsplit('/', 1)[0]}/{made[-1]}?{query}"
        return env

    yield new
    if settings.DATABASES["default"]["ENGINE"].endswith("postgresql"):
        for name in made:
            on_server(os.environ["COMBWRIGHT_DATABASE"], f"DROP DATABASE {name} WITH (FORCE)")


def parts(kills):
    whole, rest = divmod(kills, IN_ONE)
    return [IN_ONE] * whole + [rest] * (rest > 0)


@pytest.mark.parametrize("what", WHATS)
def test_a_kill_at_any_moment_loses_and_doubles_no_plate(shop, what):
    begun = 0
    for kills in parts(max(KILLS // len(WHATS), 1)):
        done = subprocess.run(
            [sys.executable, SHOP, what, str(kills)],
            env=shop(), capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert (done.returncode, done.stderr) == (0, "")
        *found, last = [json.loads(line) for line in done.stdout.splitlines()]
        assert [each["ended"] for each in found] == [-signal.SIGKILL] * kills
        assert all(each["ready"] for each in found)
        for each in found:
            assert each["wrong"] == []
            for said in each["said"]:
                lost = [n for n, kept in zip(said, each["newest"], strict=True) if n > kept]
                assert not lost, "what was done before the kill is gone"
        begun += sum(each["done"] > 0 for each in found)
        assert all(last["spoilt"]), "the proofs do not see a lost or a doubled plate"
    assert begun, "nobody got to a first action: the kills prove nothing"
