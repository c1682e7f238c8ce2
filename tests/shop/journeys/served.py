"""A shop as a user starts it: `combwright serve`, a process and a data folder of its own."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from cli.commands import COMMAND

PATIENCE_SECONDS = 60
#: All the proofs that the shop has of its own books, in a process that opens its data.
PROOFS = """
import django
django.setup()
from combwright.shop.plans.faults import faults
from combwright.shop.rack.item_queries import item_faults
from combwright.shop.rack.queries import ledger_faults
print(*ledger_faults(), *item_faults(), *faults(), sep="\\n")
"""


@dataclass(frozen=True)
class Shop:
    """Where a shop that is open answers, and where it keeps its data."""

    origin: str
    folder: Path

    def link_for(self, name):
        """Return the link that the command prints for somebody who lost the password."""
        done = _command("let-in", name, "--at", self.origin, "--data", self.folder)
        return done.stdout.strip()


def _command(*arguments):
    return subprocess.run(
        [COMMAND, *map(str, arguments)],
        env=environment(),
        check=True,
        capture_output=True,
        text=True,
    )


def environment():
    """Return the environment without what the tests of this process set for themselves."""
    ours = ("COMBWRIGHT_", "DJANGO_", "PYTEST_")
    return {key: value for key, value in os.environ.items() if not key.startswith(ours)}


def demo_shop(folder):
    """Set the demo up in a folder; return the folder of its shop's data."""
    _command("demo", folder, "--no-serve")
    return folder / "shop"


def proved(shop):
    """Prove that the shop's books are right: the command's proof, then that of what is aside."""
    done = _command("backup", shop.folder.parent / f"{time.time_ns()}.zip", "--data", shop.folder)
    assert "the ledger proved" in done.stdout
    ours = {"COMBWRIGHT_DATA": shop.folder, "DJANGO_SETTINGS_MODULE": "combwright.shop.settings"}
    said = subprocess.run(
        [sys.executable, "-c", PROOFS],
        env=environment() | {name: str(value) for name, value in ours.items()},
        check=True,
        capture_output=True,
        text=True,
    )
    assert said.stdout.strip() == ""


@contextmanager
def served(folder):
    """Open a shop, and close it as Ctrl-C does."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    log = (folder.parent / f"{folder.name}.log").open("w")
    running = subprocess.Popen(
        [COMMAND, "serve", "--port", str(port), "--data", str(folder)],
        env=environment(), stdout=log, stderr=subprocess.STDOUT,
    )  # fmt: skip
    shop = Shop(f"http://127.0.0.1:{port}", folder)
    try:
        _wait_for(shop, running, Path(log.name))
        yield shop
    finally:
        running.send_signal(signal.SIGINT)
        running.wait(PATIENCE_SECONDS)
        log.close()


def _wait_for(shop, running, log):
    until = time.monotonic() + PATIENCE_SECONDS
    while time.monotonic() < until:
        assert running.poll() is None, log.read_text()
        try:
            with urllib.request.urlopen(f"{shop.origin}/people/login/", timeout=5):
                return
        except OSError:
            time.sleep(0.1)
    raise AssertionError(f"the shop did not open: {log.read_text()}")
