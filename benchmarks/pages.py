"""How long the shop's lists, searches and pictures take, asked as the pages are asked.

`timed` gives a row for each page: its queries, and the middle and the slow end of its times in the
server, from the request to the last byte of the answer, through all middleware.
"""

import statistics
import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from benchmarks import bigshop

if TYPE_CHECKING:
    from django.test import Client

TURNS: Final = 20
#: The goal for every list, search and picture, in milliseconds.
MOST_MS: Final = 150


@dataclass(frozen=True, slots=True)
class Page:
    """A page by what a person would call it, where it is, and who asks for it.

    `form` is posted where it says something, as the page's script posts it.
    """

    name: str
    address: str
    who: str = bigshop.PEOPLE[0]
    form: Mapping[str, str] = field(default_factory=dict)
    goal_ms: int = MOST_MS


#: The pages of the rack that must be quick.
RACK: Final = tuple(Page(*each) for each in (
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
))  # fmt: skip


@dataclass(frozen=True, slots=True)
class Timed:
    """A page with its queries, and its times and its goal in milliseconds.

    `cpu_ms` is the middle of what this process computed: on SQLite that is all there is to a page,
    and what remains of its time when nothing else runs on the machine.
    """

    page: str
    queries: int
    middle_ms: float
    slow_ms: float
    cpu_ms: float
    goal_ms: int

    def line(self) -> str:
        """Write it as it is printed."""
        late = "  TOO SLOW" if self.middle_ms > self.goal_ms else ""
        return (
            f"  {self.page:<42}{self.queries:>8}{self.middle_ms:>11.0f}{self.slow_ms:>11.0f}"
            f"{self.cpu_ms:>8.0f}{self.goal_ms:>7}{late}"
        )


def heading() -> str:
    """Head the lines of pages."""
    return f"  {'page':<42}{'queries':>8}{'median ms':>11}{'95 in 100':>11}{'cpu ms':>8}{'goal':>7}"


def timed(pages: Iterable[Page], turns: int = TURNS) -> Iterator[Timed]:
    """Ask for each page so many times, after once unmeasured.

    The shop must be filled (`bigshop.fill`, `bigorders.fill`).
    """
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    clients: dict[str, Client] = {}
    for page in pages:
        client = clients.setdefault(page.who, clients.get(page.who) or _client(page.who))
        _asked(client, page)
        with CaptureQueriesContext(connection) as asked:
            _asked(client, page)
        queries = len(asked)  # before the next request clears them away
        asked_again = [_milliseconds(client, page) for _ in range(turns)]
        times = sorted(wall for wall, _cpu in asked_again)
        cpu = statistics.median(cpu for _wall, cpu in asked_again)
        slow = times[round(0.95 * (turns - 1))]
        yield Timed(page.name, queries, statistics.median(times), slow, cpu, page.goal_ms)


def _client(who: str) -> "Client":
    from django.test import Client

    from combwright.shop.people.models import Person

    client = Client(headers={"host": "localhost"})
    client.force_login(Person.objects.get(name=who))
    return client


def _asked(client: "Client", page: Page) -> None:
    if page.form:
        answer = client.post(page.address, page.form, headers={"HX-Request": "true"})
    else:
        answer = client.get(page.address)
    if answer.status_code != 200:
        raise RuntimeError(f"{page.address} answers {answer.status_code}")


def _milliseconds(client: "Client", page: Page) -> tuple[float, float]:
    """Ask once; return the time that passed, and what of it was computed here."""
    start, computed = time.perf_counter(), time.process_time()
    _asked(client, page)
    return 1000 * (time.perf_counter() - start), 1000 * (time.process_time() - computed)
