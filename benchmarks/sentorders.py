"""Orders of years gone by, each sent: their timelines, ledger, plates and instruments.

Written straight into the tables, as the actions would have written them plate by plate. Every plate
came into its bin in the rack's first entry and left it in one of its own.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any, Final

from benchmarks.bigshop import restart_keys, write

KEYS: Final = ("C", "A", "G", "D", "Bb", "F", "E", "Eb")
LAYOUTS: Final = ("standard", "standard", "standard", "natural-minor", "third-blow-raised")
KITS: Final = ("", "", "5 draw")
#: Orders of one plan; of the newest of such plans every seat is still known, here of none.
PLANNED_AT_ONCE: Final = 200
BEGAN: Final = datetime(2021, 3, 1, 7, 0, tzinfo=UTC)
_CHOICES: Final = 5
#: What happened to each order, in words, and the state that it came into.
_WAY: Final = (
    ("made", ""),
    ("opened for planning", "open"),
    ("plates set aside by plan {plan}", "aside"),
    ("picking began", "picking"),
    ("all plates picked", "bench"),
    ("instrument {serial} begun", ""),
    ("built", "built"),
    ("sent", "sent"),
)
#: An order's version in the end: each of its states after the first raised it by one.
SENT_VERSION: Final = 1 + sum(bool(state) for _words, state in _WAY)


@dataclass(frozen=True, slots=True)
class Sent:
    """A sent order of one instrument: its key and number, its wish and its plates."""

    key: int
    number: str
    wish: int
    title: str
    plates: tuple[tuple[str, Any, Any], ...]  # place, what it wants, the plate it got

    def at(self, minutes: int = 0) -> datetime:
        """When something happened to it."""
        return BEGAN + timedelta(hours=2 * self.key, minutes=minutes)


class Book:
    """Chooses plates for wishes; one that no plate of the rack suits becomes a usual one."""

    def __init__(self, wishes: Sequence[Any], dice: Random) -> None:
        self._wishes = wishes
        self._dice = dice
        self._read: dict[tuple[str, str, str], tuple[str, list[Any]] | None] = {}
        self._bins: dict[int, list[Any]] = defaultdict(list)

    def sent(self) -> Iterator[Sent]:
        """Give the sent orders in the order of their making."""
        from combwright.shop.orders.models import Wish
        from combwright.shop.orders.reading import Reader
        from combwright.shop.plans.asking import unclaimed_bins

        reader, usual = Reader(), []
        for each in unclaimed_bins(range(128)):
            self._bins[each.midi].append(each)
        for wish in self._wishes:
            found = self._plates_for(wish, reader)
            if found is None:
                wish.layout, wish.kit = "standard", ""
                usual.append(wish.pk)
                found = self._plates_for(wish, reader)
            assert found is not None, "the rack was filled with sets of these keys"
            title, seats = found
            plates = tuple((place, want, self._dice.choice(may)) for place, want, may in seats)
            yield Sent(wish.order_id, wish.order.number, wish.pk, title, plates)
        Wish.objects.filter(pk__in=usual).update(layout="standard", kit="")

    def _plates_for(self, wish: Any, reader: Any) -> tuple[str, list[Any]] | None:
        text = (wish.key, wish.layout, wish.kit)
        if text not in self._read:
            self._read[text] = self._chosen(reader.design(wish))
        return self._read[text]

    def _chosen(self, design: Any) -> tuple[str, list[Any]] | None:
        from combwright.allocation.reservations import place_name, wants_in
        from combwright.allocation.substitutes import substitutes

        seats = []
        for n, want in enumerate(wants_in(design)):
            near = [b for midi in range(want.midi - 3, want.midi + 4) for b in self._bins[midi]]
            may = substitutes(want, near, most=_CHOICES)
            if not may:
                return None
            seats.append((place_name(design, n), want, may))
        return design.title, seats


def fill(owner: int, wishes: Sequence[Any], dice: Random) -> None:
    """Write everything about some sent orders but the orders and wishes themselves.

    Parameters
    ----------
    owner : int
        Who did all of it.
    wishes : sequence of Wish
        One for each sent order.
    """
    from combwright.shop.orders.models import Step
    from combwright.shop.plans.models import MadePlan, PlanOrder, Taken
    from combwright.shop.rack.models import Entry, Line
    from combwright.shop.register.models import Fitted, Instrument

    sent = list(Book(wishes, dice).sent())
    bins, first = _received(sent)
    write(MadePlan, _plans(owner, sent))
    write(PlanOrder, _plan_rows(sent))
    write(Step, _steps(owner, sent))
    write(Entry, _entries(owner, sent, first))
    write(Line, _lines(sent, bins, first))
    write(Taken, _taken(sent, bins, first))
    write(Instrument, _instruments(owner, sent))
    write(Fitted, _fitted(owner, sent, bins))
    restart_keys(MadePlan, PlanOrder, Step, Entry, Line, Taken, Instrument, Fitted)


def _received(sent: Sequence[Sent]) -> tuple[Mapping[str, Any], int]:
    """Write the rack's first entry, of what came in; return the bins by name, and its key."""
    from combwright.shop.people.models import Person
    from combwright.shop.rack.models import Bin, Entry, Line

    gone = Counter(placed.bin for each in sent for _place, _want, placed in each.plates)
    bins = {each.code: each for each in Bin.objects.order_by("pk")}
    owner = Person.objects.get(name="owner")
    entry = Entry.objects.create(made_by=owner, why=Entry.RECEIVED, note="all at once")
    for code, each in bins.items():
        each.came = each.count + gone[code]
    Line.objects.bulk_create(
        Line(entry=entry, bin=each, change=each.came, after=each.came) for each in bins.values()
    )
    return bins, entry.pk


def _plan_of(place: int) -> int:
    return 1 + place // PLANNED_AT_ONCE


def _plans(owner: int, sent: Sequence[Sent]) -> Iterator[dict[str, Any]]:
    head = {"value": "0.00", "cost": "0.00", "gap": 0.0, "value_bound": "0.00"}
    for first in range(0, len(sent), PLANNED_AT_ONCE):
        some = sent[first : first + PLANNED_AT_ONCE]
        yield {
            "id": _plan_of(first), "made_at": some[-1].at(1), "made_by_id": owner, "head": head,
            "ready": len(some), "set_aside_at": some[-1].at(2), "set_aside_by_id": owner,
        }  # fmt: skip


def _plan_rows(sent: Sequence[Sent]) -> Iterator[dict[str, Any]]:
    for place, each in enumerate(sent):
        yield {
            "id": place + 1, "plan_id": _plan_of(place), "position": place % PLANNED_AT_ONCE,
            "order_id": each.number, "version": 2, "ready": True,
            "plates": len(each.plates),
        }  # fmt: skip


def _steps(owner: int, sent: Sequence[Sent]) -> Iterator[dict[str, Any]]:
    key = 0
    for place, each in enumerate(sent):
        facts = {"plan": _plan_of(place), "serial": f"{place + 1:05d}"}
        for n, (words, state) in enumerate(_WAY):
            key += 1
            yield {
                "id": key, "order_id": each.key, "at": each.at(n), "by_id": owner,
                "state": state, "words": words.format(**facts),
            }  # fmt: skip


def _entries(owner: int, sent: Sequence[Sent], first: int) -> Iterator[dict[str, Any]]:
    key = first
    for each in sent:
        for place, _want, _placed in each.plates:
            key += 1
            yield {
                "id": key, "made_at": each.at(3), "made_by_id": owner, "why": "picked",
                "note": f"{each.number}: {place}",
            }  # fmt: skip


def _lines(sent: Sequence[Sent], bins: Mapping[str, Any], first: int) -> Iterator[dict[str, Any]]:
    left = {code: each.came for code, each in bins.items()}
    entry = first
    for each in sent:
        for _place, _want, placed in each.plates:
            entry += 1
            left[placed.bin] -= 1
            yield {
                "id": len(bins) + entry - first, "entry_id": entry,
                "bin_id": bins[placed.bin].pk, "change": -1, "after": left[placed.bin],
            }  # fmt: skip


def _taken(sent: Sequence[Sent], bins: Mapping[str, Any], first: int) -> Iterator[dict[str, Any]]:
    key = 0
    for number, each in enumerate(sent):
        for place, want, placed in each.plates:
            key += 1
            source = bins[placed.bin]
            yield {
                "id": key, "order_id": each.key, "wish_id": each.wish, "copy": 1, "place": place,
                "midi": want.midi, "wanted_mc": want.pitch_mc, "bin_id": source.pk,
                "batch_id": source.batch_id, "retune_mc": round(1000 * placed.retune_cents),
                "way": placed.way, "cost": source.cost, "entry_id": first + key,
                "state": "picked" if place.startswith("kit") else "fitted",
                "plan_id": _plan_of(number),
            }  # fmt: skip


def _instruments(owner: int, sent: Sequence[Sent]) -> Iterator[dict[str, Any]]:
    for key, each in enumerate(sent, start=1):
        yield {
            "id": key, "serial": f"{key:05d}", "order_id": each.key, "wish_id": each.wish,
            "copy": 1, "title": each.title, "made_at": each.at(5), "made_by_id": owner,
            "finished_at": each.at(6), "sent_at": each.at(7),
        }  # fmt: skip


def _fitted(owner: int, sent: Sequence[Sent], bins: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    key = taken = 0
    for instrument, each in enumerate(sent, start=1):
        for place, want, placed in each.plates:
            taken += 1
            if place.startswith("kit"):
                continue
            key += 1
            yield {
                "id": key, "instrument_id": instrument, "taken_id": taken, "hole": want.hole,
                "deck": want.deck, "breath": want.breath, "midi": want.midi,
                "wanted_mc": want.pitch_mc, "batch_id": bins[placed.bin].batch_id,
                "put_in_at": each.at(5), "put_in_by_id": owner,
            }  # fmt: skip
