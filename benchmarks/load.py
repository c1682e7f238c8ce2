"""How the shop bears several people at once: `python -m benchmarks.load`.

The real server runs as a process of its own on this machine alone, with the made-up shop of
`bigshop`, on SQLite and on PostgreSQL. People walk through it one page after another without a
pause, which no person does: so a row for 20 is for 20 hands that never rest.
"""

import argparse
import http.client
import json
import os
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from random import Random
from typing import Any, Final
from urllib.parse import urlencode

ROOT = Path(__file__).resolve().parent.parent
USERS: Final = (1, 8, 20)
#: Requests of one row in all, whoever sends them, and the seconds after which a row ends anyway.
REQUESTS: Final = 600
SECONDS: Final = 60.0
HOST: Final = "127.0.0.1"
_TOKEN: Final = re.compile(r'name="csrfmiddlewaretoken" value="(\w+)"')
_START_SECONDS: Final = 60.0


@dataclass(frozen=True, slots=True)
class Row:
    """What came of so many people at once; times in milliseconds."""

    database: str
    users: int
    requests: int
    errors: int
    a_second: float
    middle_ms: float
    slow_ms: float
    slowest_ms: float


class Walker:
    """Somebody who goes from page to page, with a connection and a session of their own."""

    def __init__(self, port: int, session: str, seed: int) -> None:
        self._line = http.client.HTTPConnection(HOST, port, timeout=30)
        self._cookies = {"sessionid": session}
        self._dice = Random(seed)
        self.took: list[float] = []
        self.errors = 0

    def walk(self, until: float, requests: int) -> None:
        """Walk until a time is over, or so many requests are sent."""
        while len(self.took) < requests and time.monotonic() < until:
            self._round()
        self._line.close()

    def _round(self) -> None:
        """Look at the heat map and the bins, find one, count it, and look at the ledger."""
        rack, drawer = self._dice.choice("ABCDE"), self._dice.randrange(1, 51)
        code = f"{rack}-{drawer:03}-{self._dice.randrange(1, 21):02}"
        self._ask("/rack/")
        self._ask("/rack/bins/?" + urlencode({"text": code[:5]}))
        self._ask("/rack/bins/?" + urlencode({"note": "G4", "plates": "on"}))
        self._ask(f"/rack/bin/{code}/")
        page = self._ask(f"/rack/bin/{code}/count/")
        token = _TOKEN.search(page)
        if token is None:
            self.errors += 1
            return
        found = {"csrfmiddlewaretoken": token[1], "found": self._dice.randrange(15, 25), "note": ""}
        self._ask(f"/rack/bin/{code}/count/", found)
        self._ask(f"/rack/bin/{code}/")
        self._ask("/rack/ledger/")

    def _ask(self, address: str, form: Mapping[str, Any] | None = None) -> str:
        cookies = "; ".join(f"{name}={value}" for name, value in self._cookies.items())
        headers = {"Cookie": cookies}
        if form is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        start = time.perf_counter()
        try:
            body = None if form is None else urlencode(form)
            self._line.request("GET" if form is None else "POST", address, body, headers)
            answer = self._line.getresponse()
            text = answer.read().decode()
        except (OSError, http.client.HTTPException):
            self._line.close()
            self.errors += 1
            text = ""
        else:
            self.errors += answer.status != (200 if form is None else 302)
            self._keep(answer.headers.get_all("Set-Cookie") or [])
        self.took.append(1000 * (time.perf_counter() - start))
        return text

    def _keep(self, set_cookies: Sequence[str]) -> None:
        for each in set_cookies:
            name, _, value = each.partition(";")[0].partition("=")
            self._cookies[name] = value


def measured(port: int, sessions: Sequence[str], users: int, database: str) -> Row:
    """Let so many people walk at once."""
    walkers = [Walker(port, sessions[n % len(sessions)], seed=n) for n in range(users)]
    each = -(-REQUESTS // users)
    start = time.monotonic()
    with ThreadPoolExecutor(users) as pool:
        list(pool.map(lambda walker: walker.walk(start + SECONDS, each), walkers))
    seconds = time.monotonic() - start
    took = sorted(one for walker in walkers for one in walker.took)
    return Row(
        database=database,
        users=users,
        requests=len(took),
        errors=sum(walker.errors for walker in walkers),
        a_second=len(took) / seconds,
        middle_ms=statistics.median(took),
        slow_ms=took[round(0.95 * (len(took) - 1))],
        slowest_ms=took[-1],
    )


@contextmanager
def served(folder: str) -> Iterator[int]:
    """Serve the shop of a data folder as `combwright serve` does; give its port."""
    with socket.socket() as free:
        free.bind((HOST, 0))
        port: int = free.getsockname()[1]
    log = Path(folder) / "server.log"
    serve = "from combwright.cli.main import run; run()"
    command = [sys.executable, "-c", serve, "serve", "--port", str(port)]
    command += ["--host", HOST, "--data", folder]
    # Nobody here is a person: the pace of one would be measured, not the shop.
    env = {**os.environ, "COMBWRIGHT_MOST_A_SECOND": "0"}
    with log.open("w") as said:
        server = subprocess.Popen(command, env=env, stdout=said, stderr=said)
    try:
        _wait_for(port, server, log)
        yield port
    finally:
        server.terminate()
        try:
            server.wait(20)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()


def _wait_for(port: int, server: "subprocess.Popen[bytes]", log: Path) -> None:
    until = time.monotonic() + _START_SECONDS
    while time.monotonic() < until and server.poll() is None:
        with socket.socket() as line:
            if line.connect_ex((HOST, port)) == 0:
                return
        time.sleep(0.1)
    raise RuntimeError(f"The server did not start: {log.read_text()[-2000:]}")


def case(folder: str, *, pages: bool) -> None:
    """Fill the database of the environment, ask for its pages, let people walk; print JSON."""
    import django

    os.environ["COMBWRIGHT_DATA"] = folder
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "combwright.shop.settings")
    os.environ["COMBWRIGHT_MOST_A_SECOND"] = "0"
    django.setup()
    from django.core.management import call_command
    from django.db import connection, connections

    from benchmarks import bigshop
    from benchmarks import pages as of_pages

    call_command("migrate", verbosity=0, interactive=False)
    start = time.perf_counter()
    bigshop.fill()
    database = "PostgreSQL" if connection.vendor == "postgresql" else "SQLite"
    _tell({"filled": database, "seconds": time.perf_counter() - start})
    for timed in of_pages.timed() if pages else ():
        _tell({"database": database, **asdict(timed)})
    sessions = [_session(name) for name in bigshop.PEOPLE]
    connections.close_all()
    with served(folder) as port:
        for users in USERS:
            _tell(asdict(measured(port, sessions, users, database)))
    from combwright.shop.rack.queries import ledger_faults

    _tell({"faults": [fault.bin for fault in ledger_faults()]})


def _tell(facts: Mapping[str, Any]) -> None:
    print(json.dumps(facts), flush=True)


def _session(name: str) -> str:
    """Return the key of a session in which somebody has logged in."""
    from django.test import Client

    from combwright.shop.people.models import Person

    client = Client()
    client.force_login(Person.objects.get(name=name))
    return str(client.session.session_key)


def run(database: str, *, pages: bool = True) -> Iterator[dict[str, Any]]:
    """Run the case of a database, SQLite or PostgreSQL, in a process and a folder of its own."""
    with tempfile.TemporaryDirectory(prefix="combwright-load-") as folder:
        command = [sys.executable, "-m", "benchmarks.load", "--case", folder]
        command += [] if pages else ["--no-pages"]
        if database == "PostgreSQL":
            command = [sys.executable, str(ROOT / "tests" / "with_postgresql.py"), *command]
        env = {**os.environ, "COMBWRIGHT_DATABASE": ""}
        with subprocess.Popen(
            command, cwd=ROOT, env=env, stdout=subprocess.PIPE, text=True
        ) as process:
            for line in process.stdout or ():
                yield json.loads(line)
        if process.returncode:
            yield {"error": f"{database}: ended with {process.returncode}"}


def lines(facts: Mapping[str, Any]) -> Iterator[str]:
    """Write a row as it is printed."""
    if "error" in facts:
        yield f"  {facts['error']}"
    elif "filled" in facts:
        yield f"\n{facts['filled']}: 100,000 plates in 5,000 bins, 1,000,000 lines of ledger"
        yield f"  (filled in {facts['seconds']:.0f} s; pages one after another, in the server)"
        yield f"  {'page':<30}{'queries':>8}{'median ms':>11}{'95 in 100':>11}{'cpu ms':>8}"
    elif "page" in facts:
        late = "  TOO SLOW" if facts["middle_ms"] > MOST_MS else ""
        yield (
            f"  {facts['page']:<30}{facts['queries']:>8}{facts['middle_ms']:>11.0f}"
            f"{facts['slow_ms']:>11.0f}{facts['cpu_ms']:>8.0f}{late}"
        )
    elif "users" in facts:
        if facts["users"] == USERS[0]:
            yield "  people at once, over HTTP on this machine: a page after another, no pause"
            yield (
                f"  {'people':<10}{'requests':>9}{'errors':>8}{'a second':>10}{'median ms':>11}"
                f"{'95 in 100':>11}{'slowest':>9}"
            )
        yield (
            f"  {facts['users']:<10}{facts['requests']:>9}{facts['errors']:>8}"
            f"{facts['a_second']:>10.1f}{facts['middle_ms']:>11.0f}{facts['slow_ms']:>11.0f}"
            f"{facts['slowest_ms']:>9.0f}"
        )
    else:
        word = "every bin holds what its ledger says" if not facts["faults"] else "LEDGER WRONG"
        yield f"  afterwards {word}"


#: The goal for every list, search and picture.
MOST_MS: Final = 150


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure on both databases, or as one of the cases."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.load", description=__doc__)
    parser.add_argument("--case", metavar="FOLDER", help=argparse.SUPPRESS)
    parser.add_argument("--no-pages", action="store_true", help="only the people at once")
    parser.add_argument("--json", type=Path, help="write every row to this file too")
    options = parser.parse_args(arguments)
    if options.case:
        case(options.case, pages=not options.no_pages)
        return
    print(f"\nThe shop's pages, and people at once: {os.cpu_count()} cores, shared.")
    rows = []
    for database in ("SQLite", "PostgreSQL"):
        for facts in run(database, pages=not options.no_pages):
            rows.append(facts)
            print("\n".join(lines(facts)), flush=True)
    if options.json:
        options.json.write_text(json.dumps(rows, indent=1) + "\n")


if __name__ == "__main__":
    main()
