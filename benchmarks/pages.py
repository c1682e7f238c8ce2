"""How long the shop's lists, searches and pictures take, asked as the pages are asked.

`timed` gives a row for each page: its queries, and the middle and the slow end of its times in the
server, from the request to the last byte of the answer, through all middleware.
"""

import statistics
import time
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from benchmarks import bigshop

if TYPE_CHECKING:
    from django.test import Client

TURNS: Final = 20
#: The pages that must be quick, by what a person would call them.
PAGES: Final = (
    ("the heat map", "/rack/"),
    ("bins, first page", "/rack/bins/"),
    ("bins, last page", "/rack/bins/?page=100"),
    ("bins, a text found in few", "/rack/bins/?text=C-017"),
    ("bins, a text found in all", "/rack/bins/?text=-"),
    ("bins, a text found in none", "/rack/bins/?text=nowhere"),
    ("bins, a note", "/rack/bins/?note=G4"),
    ("bins, all fields", "/rack/bins/?text=A&note=A4&mount=front&batch=L-004&fits=17&plates=on"),
    ("a bin", "/rack/bin/C-017-03/"),
    ("a bin with 20,000 lines", f"/rack/bin/{bigshop.BUSY_BIN}/"),
    ("the same, half way", f"/rack/bin/{bigshop.BUSY_BIN}/?older=15000"),
    ("the same, oldest", f"/rack/bin/{bigshop.BUSY_BIN}/?newer=0"),
    ("batches", "/rack/batches/"),
    ("batches, last page", "/rack/batches/?page=5"),
    ("a batch", "/rack/batches/L-004/"),
    ("the ledger, newest", "/rack/ledger/"),
    ("the ledger, half way", "/rack/ledger/?older=300000"),
    ("the ledger, oldest", "/rack/ledger/?newer=0"),
    ("an entry", "/rack/ledger/400000/"),
    ("an entry with 5,000 lines", "/rack/ledger/1/"),
    ("the same, last page", "/rack/ledger/1/?page=100"),
    ("a form about a bin", "/rack/bin/C-017-03/move/"),
    ("imports", "/rack/imports/"),
)


@dataclass(frozen=True, slots=True)
class Timed:
    """A page with its queries, and its times in milliseconds.

    `cpu_ms` is the middle of what this process computed: on SQLite that is all there is to a page,
    and what remains of its time when nothing else runs on the machine.
    """

    page: str
    queries: int
    middle_ms: float
    slow_ms: float
    cpu_ms: float


def timed(turns: int = TURNS) -> Iterator[Timed]:
    """Ask for every page so many times, after once unmeasured, as somebody who may do everything.

    The shop must be filled (`bigshop.fill`).
    """
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from combwright.shop.people.models import Person

    client = Client(headers={"host": "localhost"})
    client.force_login(Person.objects.get(name=bigshop.PEOPLE[0]))
    for name, address in PAGES:
        with CaptureQueriesContext(connection) as asked:
            answer = client.get(address)
        if answer.status_code != 200:
            raise RuntimeError(f"{address} answers {answer.status_code}")
        queries = len(asked)  # before the next request clears them away
        asked_again = [_milliseconds(client, address) for _ in range(turns)]
        times = sorted(wall for wall, _cpu in asked_again)
        cpu = statistics.median(cpu for _wall, cpu in asked_again)
        slow = times[round(0.95 * (turns - 1))]
        yield Timed(name, queries, statistics.median(times), slow, cpu)


def _milliseconds(client: "Client", address: str) -> tuple[float, float]:
    """Ask once; return the time that passed, and what of it was computed here."""
    start, computed = time.perf_counter(), time.process_time()
    client.get(address)
    return 1000 * (time.perf_counter() - start), 1000 * (time.process_time() - computed)
