"""People who go through the shop over HTTP, a page after another without a pause.

No person does so: twenty of them are twenty hands that never rest. Each has a connection and
sessions of their own.
"""

import http.client
import re
import statistics
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from random import Random
from threading import Lock
from typing import Any, Final
from urllib.parse import urlencode

HOST: Final = "127.0.0.1"
#: Requests of one row in all, whoever sends them, and the seconds after which a row ends anyway.
REQUESTS: Final = 600
SECONDS: Final = 60.0
_TOKEN: Final = re.compile(r'name="csrfmiddlewaretoken" value="(\w+)"')
_TO_PICK: Final = re.compile(r'action="(/bench/plates/\d+/pick/)"')
_TO_SEAT: Final = re.compile(r'action="(/bench/plates/\d+/seat/)"')


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
    """Somebody who goes from page to page; `errors` counts what the shop refused or failed at.

    Parameters
    ----------
    port : int
        Where the shop is served.
    sessions : mapping
        The keys of their sessions by the name of who logged in.
    seed : int
        For their choices.
    """

    def __init__(self, port: int, sessions: Mapping[str, str], seed: int) -> None:
        self._line = http.client.HTTPConnection(HOST, port, timeout=30)
        self._cookies = {who: {"sessionid": key} for who, key in sessions.items()}
        self._who = next(iter(sessions))
        self.dice = Random(seed)
        self.took: list[float] = []
        self.errors = 0
        self._token = ""

    def walk(self, rounds: Iterator[Callable[["Walker"], None]], until: float, most: int) -> None:
        """Go round after round until a time is over, or so many requests are sent."""
        while len(self.took) < most and time.monotonic() < until:
            next(rounds)(self)
        self._line.close()

    def is_now(self, who: str) -> None:
        """Go on as another person, in a session of theirs."""
        self._who = who

    def look(self, address: str, **asked: str) -> str:
        """Ask for a page; the token of its forms is kept."""
        page = self._ask(address + ("?" + urlencode(asked) if asked else ""), None, {}, (200,))
        if found := _TOKEN.search(page):
            self._token = found[1]
        return page

    def send(self, address: str, form: Mapping[str, Any], *, script: str = "") -> str:
        """Post a form of the page that was looked at last: as a person, or as the page's script."""
        headers = {
            "json": {"Accept": "application/json"}, "htmx": {"HX-Request": "true"}, "": {},
        }[script]  # fmt: skip
        said = {"csrfmiddlewaretoken": self._token, **form}
        return self._ask(address, said, headers, (200,) if script else (302,))

    def _ask(
        self,
        address: str,
        form: Mapping[str, Any] | None,
        more: Mapping[str, str],
        right: Sequence[int],
    ) -> str:
        mine = self._cookies[self._who]
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in mine.items()), **more}
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
            self.errors += answer.status not in right
            for each in answer.headers.get_all("Set-Cookie") or []:
                name, _, value = each.partition(";")[0].partition("=")
                mine[name] = value
        self.took.append(1000 * (time.perf_counter() - start))
        return text


class Handed:
    """Things that are handed out to whoever asks next, each so many times."""

    def __init__(self, things: Sequence[int], times: int = 1) -> None:
        self._left = [each for each in things for _ in range(times)][::-1]
        self._lock = Lock()

    def next(self) -> int | None:
        """Return the next one, None when nothing is left."""
        with self._lock:
            return self._left.pop() if self._left else None


@dataclass(frozen=True, slots=True)
class Work:
    """What there is to do in a shop with orders: orders by key, two people to each that is picked.

    Parameters
    ----------
    wishes : sequence of int
        To be designed.
    picking : Handed
        Orders whose plates are set aside.
    bench : Handed
        Orders of one instrument on the bench.
    bins : sequence of str
        Bins that nothing is set aside of.
    """

    wishes: Sequence[int]
    picking: Handed
    bench: Handed
    bins: Sequence[str]

    def rounds(self, first: int) -> Iterator[Callable[[Walker], None]]:
        """Give one round after another, beginning anywhere."""
        every = (self._office, self._packer, self._maker, self._rack)
        place = first
        while True:
            yield every[place % len(every)]
            place += 1

    def _office(self, walker: Walker) -> None:
        """Look at what is next and at orders; touch a wish a few times."""
        walker.is_now("office")
        walker.look("/today/")
        walker.look("/orders/", due="7")
        walker.look("/orders/", text=f"{walker.dice.randrange(100, 1000)}")
        address = f"/orders/wish/{walker.dice.choice(self.wishes)}/"
        walker.look(address)
        for what in ("turn", "turn", "undo"):
            seat = f"{walker.dice.randrange(1, 11)}-upper"
            walker.send(address, {"do": what, "seat": seat}, script="htmx")

    def _packer(self, walker: Walker) -> None:
        """Begin an order, pick some plates of it or all, and bring it to the bench if it is all."""
        order = self.picking.next()
        walker.is_now("packer")
        walker.look("/today/")
        walker.look("/bench/", state="aside")
        if order is None:
            return
        walker.send("/bench/begin/", {"order": order})
        page = walker.look("/bench/walk/", orders=str(order))
        for each in _TO_PICK.findall(page)[: walker.dice.choice((8, 30))]:
            walker.send(each, {}, script="json")
        walker.look("/bench/walk/", orders=str(order))
        walker.send("/bench/to-the-bench/", {"orders": order})

    def _maker(self, walker: Walker) -> None:
        """Seat the plates of an instrument, and say that it is built."""
        order = self.bench.next()
        walker.is_now("maker")
        walker.look("/today/")
        if order is None:
            walker.look("/bench/", state="bench")
            return
        walker.look(f"/bench/orders/{order}/")
        for _ in range(30):
            found = _TO_SEAT.search(walker.look(f"/bench/orders/{order}/1/1/"))
            if found is None:
                break
            walker.send(found[1], {}, script="json")
        walker.send(f"/bench/orders/{order}/finish/", {})

    def _rack(self, walker: Walker) -> None:
        """Do as those who have only the rack to do with."""
        walker.is_now("owner")
        around_the_rack(walker, walker.dice.choice(self.bins))


def around_the_rack(walker: Walker, code: str) -> None:
    """Look at the heat map and the bins, find one, count it, and look at the ledger."""
    walker.look("/rack/")
    walker.look("/rack/bins/", text=code[:5])
    walker.look("/rack/bins/", note="G4", plates="on")
    walker.look(f"/rack/bin/{code}/")
    walker.look(f"/rack/bin/{code}/count/")
    found = {"found": walker.dice.randrange(15, 25), "note": ""}
    walker.send(f"/rack/bin/{code}/count/", found)
    walker.look(f"/rack/bin/{code}/")
    walker.look("/rack/ledger/")


def rack_rounds(walker: Walker) -> Iterator[Callable[[Walker], None]]:
    """Give rounds through the rack of `bigshop`, each to another bin."""
    while True:
        rack, drawer = walker.dice.choice("ABCDE"), walker.dice.randrange(1, 51)
        code = f"{rack}-{drawer:03}-{walker.dice.randrange(1, 21):02}"
        yield lambda each, code=code: around_the_rack(each, code)  # type: ignore[misc]


def measured(
    walkers: Sequence[Walker],
    rounds: Sequence[Iterator[Callable[[Walker], None]]],
    database: str,
) -> Row:
    """Let people walk at once, each through rounds of their own."""
    users = len(walkers)
    each = -(-REQUESTS // users)
    start = time.monotonic()
    with ThreadPoolExecutor(users) as pool:
        ways = zip(walkers, rounds, strict=True)
        list(pool.map(lambda way: way[0].walk(way[1], start + SECONDS, each), ways))
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
