"""How the shop bears several people at once: `python -m benchmarks.load`.

Two made-up shops, each on SQLite and on PostgreSQL: `bigshop`, whose ledger is long, and
`bigorders`, whose order book is. Their pages are timed one after another; then the real server runs
as a process of its own on this machine alone, and `people` walk through it. In the second shop they
do all that a day brings: look at what is next, design wishes, pick plates, two of them for each
order, build, and count bins beside that. Afterwards the books must be exact.
"""

import argparse
import json
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

from benchmarks import bigorders, bigshop, orderacts, orderpages, pages, people

ROOT = Path(__file__).resolve().parent.parent
USERS: Final = (1, 8, 20)
SHOPS: Final = ("ledger", "orders")
_START_SECONDS: Final = 60.0
_WHAT: Final = {
    "ledger": "100,000 plates in 5,000 bins, 1,000,000 lines of ledger",
    "orders": "100,000 plates; 20,000 orders: 2,000 have plates set aside, 200 are new",
}


@contextmanager
def served(folder: str) -> Iterator[int]:
    """Serve the shop of a data folder as `combwright serve` does; give its port."""
    with socket.socket() as free:
        free.bind((people.HOST, 0))
        port: int = free.getsockname()[1]
    log = Path(folder) / "server.log"
    serve = "from combwright.cli.main import run; run()"
    command = [sys.executable, "-c", serve, "serve", "--port", str(port)]
    command += ["--host", people.HOST, "--data", folder]
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
            if line.connect_ex((people.HOST, port)) == 0:
                return
        time.sleep(0.1)
    raise RuntimeError(f"The server did not start: {log.read_text()[-2000:]}")


def case(folder: str, shop: str, *, alone: bool) -> None:
    """Fill the database of the environment, ask for its pages, let people walk; print JSON.

    Parameters
    ----------
    folder : str
        Where the shop's data lie.
    shop : {"ledger", "orders"}
        What it has much of.
    alone : bool
        Whether its pages and actions are timed one after another first.
    """
    bigorders.start(folder)
    from django.db import connection, connections

    from combwright.shop.rack.queries import ledger_faults

    began = time.perf_counter()
    (bigshop if shop == "ledger" else bigorders).fill()
    database = "PostgreSQL" if connection.vendor == "postgresql" else "SQLite"
    _tell({"filled": database, "shop": shop, "seconds": time.perf_counter() - began})
    _ledger(alone) if shop == "ledger" else _orders(alone)
    work = _work() if shop == "orders" else None
    names = bigorders.PEOPLE if work else bigshop.PEOPLE
    sessions = [{name: _session(name) for name in names} for _ in range(max(USERS))]
    connections.close_all()
    with served(folder) as port:
        for users in USERS:
            walkers = [people.Walker(port, sessions[n], seed=n) for n in range(users)]
            for n, each in enumerate(walkers):
                each.is_now(names[n % len(names)])
            rounds = [
                work.rounds(n) if work else people.rack_rounds(each)
                for n, each in enumerate(walkers)
            ]
            _tell(asdict(people.measured(walkers, rounds, database)))
    # The made-up ledger tells of plates that were returned, without orders to return from.
    _tell({"wrong": bigorders.wrong() if work else [str(each) for each in ledger_faults()]})


def _ledger(alone: bool) -> None:
    if alone:
        _tell({"text": pages.heading()})
        for timed in pages.timed(pages.RACK):
            _tell({"text": timed.line(), **asdict(timed)})


def _orders(alone: bool) -> None:
    """Bring the orders on their way; time that, and their pages, if asked to."""
    under_way = list(orderacts.brought_under_way())
    if not alone:
        return
    _tell({"text": pages.heading()})
    for timed in orderpages.timed():
        _tell({"text": timed.line(), **asdict(timed)})
    _tell({"text": orderacts.heading()})
    for done in (*under_way, *orderacts.a_day()):
        _tell({"text": done.line(), **asdict(done)})


def _work() -> people.Work:
    """Say what there is to do in the shop of orders."""
    from combwright.shop.orders.models import Order, Wish
    from combwright.shop.rack.models import Bin

    def of(state: str) -> list[int]:
        return list(Order.objects.filter(state=state).order_by("pk").values_list("pk", flat=True))

    wishes = Wish.objects.filter(order__state__in=("draft", "open")).order_by("pk")
    bins = Bin.objects.filter(aside=0, count__gt=0).order_by("pk")
    return people.Work(
        wishes=list(wishes.values_list("pk", flat=True)),
        picking=people.Handed(of("aside"), 2),
        bench=people.Handed(of("bench")),
        bins=list(bins.values_list("code", flat=True)),
    )


def _tell(facts: Mapping[str, Any]) -> None:
    print(json.dumps(facts), flush=True)


def _session(name: str) -> str:
    """Return the key of a session in which somebody has logged in."""
    from django.test import Client

    from combwright.shop.people.models import Person

    client = Client()
    client.force_login(Person.objects.get(name=name))
    return str(client.session.session_key)


def run(database: str, shop: str, *, alone: bool = True) -> Iterator[dict[str, Any]]:
    """Run the case of a shop and a database in a process and a folder of its own."""
    with tempfile.TemporaryDirectory(prefix="combwright-load-") as folder:
        command = [sys.executable, "-m", "benchmarks.load", "--case", folder, "--shop", shop]
        command += [] if alone else ["--no-pages"]
        if database == "PostgreSQL":
            command = [sys.executable, str(ROOT / "tests" / "with_postgresql.py"), *command]
        env = {**os.environ, "COMBWRIGHT_DATABASE": ""}
        with subprocess.Popen(
            command, cwd=ROOT, env=env, stdout=subprocess.PIPE, text=True
        ) as process:
            for line in process.stdout or ():
                yield json.loads(line)
        if process.returncode:
            yield {"error": f"{database}, {shop}: ended with {process.returncode}"}


def lines(facts: Mapping[str, Any]) -> Iterator[str]:
    """Write a row as it is printed."""
    if "error" in facts:
        yield f"  {facts['error']}"
    elif "filled" in facts:
        yield f"\n{facts['filled']}: {_WHAT[facts['shop']]}"
        yield f"  (filled in {facts['seconds']:.0f} s; one after another, in the server)"
    elif "text" in facts:
        yield facts["text"]
    elif "users" in facts:
        yield from _people(facts)
    else:
        exact = (
            "every bin, plate and order adds up" if not facts["wrong"] else "THE BOOKS ARE WRONG"
        )
        yield f"  afterwards {exact}; goal: nothing is wrong"
        yield from (f"    {each}" for each in facts["wrong"][:5])


def _people(facts: Mapping[str, Any]) -> Iterator[str]:
    alone = facts["users"] == USERS[0]
    if alone:
        yield "  people at once, over HTTP on this machine: a page after another, no pause"
        yield (
            f"  {'people':<10}{'requests':>9}{'errors':>8}{'goal':>6}{'a second':>10}"
            f"{'median ms':>11}{'goal':>6}{'95 in 100':>11}{'slowest':>9}"
        )
    goal = f"{pages.MOST_MS:>6}" if alone else f"{'-':>6}"
    late = alone and facts["middle_ms"] > pages.MOST_MS
    yield (
        f"  {facts['users']:<10}{facts['requests']:>9}{facts['errors']:>8}{0:>6}"
        f"{facts['a_second']:>10.1f}{facts['middle_ms']:>11.0f}{goal}{facts['slow_ms']:>11.0f}"
        f"{facts['slowest_ms']:>9.0f}{'  TOO SLOW' if late else ''}"
        f"{'  REFUSED OR FAILED' if facts['errors'] else ''}"
    )


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure on both databases, or as one of the cases."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.load", description=__doc__)
    parser.add_argument("--case", metavar="FOLDER", help=argparse.SUPPRESS)
    parser.add_argument("--shop", choices=SHOPS, help="only this shop")
    parser.add_argument("--database", choices=("SQLite", "PostgreSQL"), help="only this database")
    parser.add_argument("--no-pages", action="store_true", help="only the people at once")
    parser.add_argument("--json", type=Path, help="write every row to this file too")
    options = parser.parse_args(arguments)
    if options.case:
        case(options.case, options.shop, alone=not options.no_pages)
        return
    print(f"\nThe shop's pages, and people at once: {os.cpu_count()} cores, shared.")
    rows = []
    for shop in [options.shop] if options.shop else SHOPS:
        for database in [options.database] if options.database else ("SQLite", "PostgreSQL"):
            for facts in run(database, shop, alone=not options.no_pages):
                rows.append(facts)
                print("\n".join(lines(facts)), flush=True)
    if options.json:
        options.json.write_text(json.dumps(rows, indent=1) + "\n")


if __name__ == "__main__":
    main()
