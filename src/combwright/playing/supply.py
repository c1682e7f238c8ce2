"""Plates to swap in, and whether each of some swaps can have one of its own."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import combinations, product
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Literal

from combwright.allocation.workshop import Way
from combwright.comb.seats import Seat

if TYPE_CHECKING:
    from combwright.playing.swap_sets import Swap

Source = Literal["rack", "kit", "seat"]
NOTHING: Final = Decimal(0)


@dataclass(frozen=True, slots=True)
class Plates:
    """Plates of one kind.

    Parameters
    ----------
    source : {"rack", "kit", "seat"}
        Where they lie; `seat` is a plate that sits in the instrument.
    name : str
        The bin's name, the kit's line, or the seat.
    count : int
        How many there are.
    out_of : Seat or None
        The seat it is free from only when that seat is swapped as well.
    """

    source: Source
    name: str
    count: int = 1
    out_of: Seat | None = None


@dataclass(frozen=True, slots=True)
class Use:
    """A plate used for a swap.

    Parameters
    ----------
    plates : int
        Which plates of the supply.
    retune_cents : float
        Wanted pitch less the plate's: above 0 the reed must be raised.
    way : {"none", "file", "weight"}
        How it is retuned.
    cost : Decimal
        Plate and labour.
    """

    plates: int
    retune_cents: float = 0.0
    way: Way = "none"
    cost: Decimal = NOTHING


@dataclass(frozen=True, slots=True)
class Supply:
    """Plates to swap in.

    Parameters
    ----------
    plates : tuple of Plates
        All there are.
    uses : mapping of Swap to tuple of Use
        The plates that serve a swap, the best first.
    """

    plates: tuple[Plates, ...]
    uses: "Mapping[Swap, tuple[Use, ...]]"
    _free: "Mapping[Swap, int]" = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        free = {
            swap: sum(self.plates[use.plates].count for use in uses
                      if self.plates[use.plates].out_of is None)
            for swap, uses in self.uses.items()
        }  # fmt: skip
        object.__setattr__(self, "_free", free)

    def scarce(self, size: int) -> "frozenset[Swap]":
        """Return the swaps with less than so many plates: sets without them are always served."""
        return frozenset(swap for swap, free in self._free.items() if free < size)

    def serves(self, chosen: "Sequence[Swap]") -> bool:
        """Tell whether every swap can have a plate of its own, by Hall's condition, [hall].

        A swap with as many plates as there are swaps finds one whatever the others take.
        """
        short = [swap for swap in chosen if self._free.get(swap, 0) < len(chosen)]
        if not short:
            return True
        seats = frozenset(swap.seat for swap in chosen)
        free = [{use.plates for use in self._uses(swap, seats)} for swap in short]
        for size in range(1, len(short) + 1):
            for some in combinations(free, size):
                if sum(self.plates[each].count for each in set().union(*some)) < size:
                    return False
        return True

    def count(self, swaps: "Sequence[Sequence[Swap]]", size: int) -> int:
        """Return how many sets of so many swaps, no two in one seat, have plates of their own.

        Parameters
        ----------
        swaps : sequence of sequences of Swap
            For each seat.

        Notes
        -----
        Whether a set is served rests on its scarce swaps alone, so only these are tried, and the
        rest is counted. Where plates that swaps take out may serve too, every set is tried.
        """
        scarce = self.scarce(size)
        if any(each.out_of is not None for each in self.plates):
            scarce = frozenset(self.uses)
        few = [[s for s in found if s in scarce or s not in self.uses] for found in swaps]
        many = [len(found) - len(some) for found, some in zip(swaps, few, strict=True)]
        total = 0
        for k in range(size + 1):
            for seats in combinations([n for n, some in enumerate(few) if some], k):
                rest = _choices([m for n, m in enumerate(many) if n not in seats], size - k)
                if rest:
                    total += rest * sum(map(self.serves, product(*(few[n] for n in seats))))
        return total

    def best(self, chosen: "Sequence[Swap]") -> tuple[Use, ...] | None:
        """Return the plates that serve some swaps for the least cost, one each; None if none do.

        Of equal cost those with the least retuning are taken, then those named first. The others
        of n swaps take n - 1 plates at most, so each needs to look at its best n alone.
        """
        seats = frozenset(swap.seat for swap in chosen)
        choices = [self._uses(swap, seats)[: len(chosen)] for swap in chosen]
        possible = (uses for uses in product(*choices) if self._enough(uses))
        return min(possible, key=_dearness, default=None)

    def _uses(self, swap: "Swap", seats: frozenset[Seat]) -> tuple[Use, ...]:
        return tuple(
            use
            for use in self.uses.get(swap, ())
            if (seat := self.plates[use.plates].out_of) is None or seat in seats
        )

    def _enough(self, uses: Sequence[Use]) -> bool:
        taken = Counter(use.plates for use in uses)
        return all(many <= self.plates[each].count for each, many in taken.items())


def _choices(many: Sequence[int], size: int) -> int:
    """Return in how many ways so many things can be chosen, each from another heap."""
    ways = [1] + [0] * size
    for each in many:
        for k in range(size, 0, -1):
            ways[k] += ways[k - 1] * each
    return ways[size]


def joined(first: Supply, second: Supply) -> Supply:
    """Return the plates of two supplies together; a swap is served by either."""
    start = len(first.plates)
    uses = dict(first.uses)
    for swap, found in second.uses.items():
        moved = tuple(Use(u.plates + start, u.retune_cents, u.way, u.cost) for u in found)
        uses[swap] = tuple(sorted((*uses.get(swap, ()), *moved), key=_ease))
    return Supply((*first.plates, *second.plates), MappingProxyType(uses))


def _ease(use: Use) -> tuple[Decimal, float]:
    """Rank uses: the cheapest first, then the least retuned."""
    return use.cost, abs(use.retune_cents)


def _dearness(uses: Sequence[Use]) -> tuple[Decimal, float, tuple[int, ...]]:
    retuned = sum(abs(use.retune_cents) for use in uses)
    return sum((use.cost for use in uses), NOTHING), retuned, tuple(use.plates for use in uses)
