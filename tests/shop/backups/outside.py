"""A shop of its own outside the tests' database, worked on by processes that may be killed."""

import contextlib
import json
import os
import subprocess
import sys
from pathlib import Path
from uuid import uuid4

from django.db import connection

from combwright.shop.backups.proof import prove
from combwright.shop.backups.snapshots import beside
from combwright.shop.backups.sources import DatabaseSource, sums
from combwright.shop.backups.tables import kept_models
from combwright.shop.where import postgresql, sqlite

HERE = Path(__file__).parent
COMMAND = [sys.executable, str(HERE / "keeping_command.py")]
TESTS = HERE.parents[1]
#: Run in a process of its own: makes a shop, changes it, or tells what is in it.
PROGRAM = """
import json, sys
import django
django.setup()
from django.conf import settings
settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
from django.core.management import call_command
call_command("migrate", verbosity=0)
from combwright.shop.backups.proof import prove
from combwright.shop.backups.snapshots import snapshot
from combwright.shop.backups.sources import sums
from combwright.shop.rack.queries import ledger_faults
from shop.backups.shops import a_shop
for seed in json.loads(sys.argv[1]):
    a_shop(seed)
assert list(ledger_faults()) == []
with snapshot() as source:
    prove(source)
    found = {label: [each.rows, each.digest] for label, each in sums(source).items()}
print("FOUND" + json.dumps(found))
"""


class Outside:
    """A data folder, and a database address or none for SQLite."""

    def __init__(self, data, address=""):
        self.data, self.address = data, address

    def env(self, **more):
        env = {**os.environ, "COMBWRIGHT_DATA": str(self.data), **more}
        env["PYTHONPATH"] = os.pathsep.join([str(TESTS), os.environ.get("PYTHONPATH", "")])
        env.setdefault("DJANGO_SETTINGS_MODULE", "combwright.shop.settings")
        env.pop("COMBWRIGHT_DATABASE", None)
        return {**env, "COMBWRIGHT_DATABASE": self.address} if self.address else env

    def run(self, *arguments, dies=0):
        """Run a command; a negative code is the signal that ended it."""
        more = {"COMBWRIGHT_TEST_DIES": str(dies)} if dies else {}
        return subprocess.run(
            [*COMMAND, *map(str, arguments)], env=self.env(**more), check=False,
            capture_output=True, text=True, timeout=120,
        )  # fmt: skip

    def start(self, *arguments):
        quiet = subprocess.DEVNULL
        return subprocess.Popen(
            [*COMMAND, *map(str, arguments)], env=self.env(), stdout=quiet, stderr=quiet
        )

    def places(self, *arguments):
        """Run a command to its end; return how many places there are to die at."""
        return int(self.run(*arguments, dies=10**9).stdout.split("PLACES ")[1])

    def look(self):
        """Prove the shop as it is, from outside, and return what its tables add up to."""
        from django.db import connections, transaction

        path = self.data / "shop.sqlite3"
        with beside(postgresql(self.address) if self.address else sqlite(path)) as alias:
            if "rack_line" not in connections[alias].introspection.table_names():
                return {}
            with transaction.atomic(using=alias):
                source = DatabaseSource(alias, kept_models())
                prove(source)
                return {label: [e.rows, e.digest] for label, e in sums(source).items()}

    def now(self, *seeds):
        """Let people work by seeds, prove the shop, and return what its tables add up to."""
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM, str(list(seeds))], env=self.env(), check=False,
            capture_output=True, text=True, timeout=120,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout.split("FOUND")[1])


@contextlib.contextmanager
def a_database(template="template1"):
    """Make a PostgreSQL database beside that of the tests; give its address."""
    name = f"outside_{uuid4().hex[:12]}"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
    try:
        yield os.environ["COMBWRIGHT_DATABASE"].replace("/postgres?", f"/{name}?")
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"DROP DATABASE {name} WITH (FORCE)")
