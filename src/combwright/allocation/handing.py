"""Plates handed out to single instruments, each from as few batches as can be.

A placement says how many plates of a kind go to a class of seats; any way of handing them out costs
the same. Every instrument takes the batch that fills most of its seats, then the next. Where a
batch lies idle, or went to another class of seats, plates change places if that costs nothing.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combwright.allocation.shelf import Shelf

#: Beyond this number of plates none are exchanged: it would take longer than it is worth.
MOST_EXCHANGED: Final = 8_000


@dataclass(frozen=True, slots=True)
class Handing:
    """Hands out what lies on a shelf; `exchange` allows free exchanges on the way."""

    shelf: Shelf
    exchange: bool = True

    def give(self, seats: Sequence[int]) -> list[int]:
        """Take a plate for each seat of one instrument.

        Parameters
        ----------
        seats : sequence of int
            The class of each seat.

        Returns
        -------
        list of int
            The bin of each seat's plate.
        """
        given: dict[int, int] = {}
        left = list(range(len(seats)))
        while left:
            batch = self._fullest([seats[n] for n in left])
            for n in left:
                taken = self._take(seats[n], batch)
                if taken is not None:
                    given[n] = taken
            left = [n for n in left if n not in given]
        return [given[n] for n in range(len(seats))]

    def _fullest(self, seats: Sequence[int]) -> str:
        """Return the batch that fills most of the seats, the first on the walk among equals."""
        score: Counter[str] = Counter()
        first: dict[str, int] = {}
        for seat, many in Counter(seats).items():
            for batch, (there, turn) in self._within_reach(seat).items():
                score[batch] += min(many, there)
                first[batch] = min(first.get(batch, turn), turn)
        return max(score, key=lambda batch: (score[batch], -first[batch]))

    def _within_reach(self, seat: int) -> dict[str, tuple[int, int]]:
        """Return, by batch, how many plates a class may have and the first one's turn."""
        shelf = self.shelf
        found: dict[str, tuple[int, int]] = {}
        for batch, there in shelf.there[seat].items():
            first = shelf.first(seat, batch)
            if first is not None:
                found[batch] = (there, shelf.walk[first])
        if self.exchange:
            for batch in shelf.batches(seat):
                if batch not in found and (swap := shelf.free_swap(seat, batch)):
                    found[batch] = (1, shelf.walk[swap.other])
        return found

    def _take(self, seat: int, batch: str) -> int | None:
        shelf = self.shelf
        plate = shelf.first(seat, batch)
        if plate is not None:
            shelf.move(seat, plate, -1)
            return plate
        swap = shelf.free_swap(seat, batch) if self.exchange else None
        if swap is None:
            return None
        shelf.move(seat, swap.mine, -1)
        shelf.swap(swap)
        return swap.other
