"""A wish while it is being designed: its states one after the other, to go back and forth between.

They are kept in the person's session until the wish is saved, so that looking at another seat, a
lost connection or a page closed too early lose nothing. A draft is bounded, and so is their number.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from django.contrib.sessions.backends.base import SessionBase

from combwright.shop.orders.models import Order, Wish

_SESSION: Final = "wishes"
MOST_STATES: Final = 40
_MOST_DRAFTS: Final = 5


@dataclass(frozen=True, slots=True)
class Facts:
    """What a wish says, as it is stored."""

    what: str = Wish.INSTRUMENT
    quantity: int = 1
    key: str = "C"
    layout: str = "standard"
    changes: str = ""
    kit: str = ""
    temperament: str = "equal"
    a4: str = "440"
    comb: str = ""

    def as_wish(self, order: Order, row: int) -> Wish:
        """Return a wish that says this; it is not stored."""
        return Wish(order=order, row=row, **self.stored())

    def stored(self) -> dict[str, Any]:
        """Return the fields of a wish."""
        values: dict[str, Any] = {name: getattr(self, name) for name in FIELDS}
        return {**values, "a4": Decimal(self.a4)}


FIELDS: Final = tuple(Facts.__dataclass_fields__)


def facts_of(wish: Wish) -> Facts:
    """Return what a stored wish says."""
    said = {name: getattr(wish, name) for name in FIELDS}
    return Facts(**{**said, "a4": f"{Decimal(wish.a4).normalize():f}"})


@dataclass(frozen=True, slots=True)
class Draft:
    """The states of a wish, which of them is meant, and the order's version it began from."""

    seen: int
    states: tuple[Facts, ...]
    at: int = 0

    @property
    def facts(self) -> Facts:
        """What the wish says now."""
        return self.states[self.at]

    @property
    def changed(self) -> bool:
        """Whether it says something else than at the beginning."""
        return self.at > 0

    @property
    def can_redo(self) -> bool:
        """Whether something was undone."""
        return self.at + 1 < len(self.states)

    def then(self, **changed: Any) -> "Draft":
        """Return the draft with another state; what was undone is forgotten."""
        facts = replace(self.facts, **changed)
        if facts == self.facts:
            return self
        states = (*self.states[: self.at + 1], facts)
        if len(states) > MOST_STATES:
            states = (states[0], *states[-MOST_STATES + 1 :])
        return replace(self, states=states, at=len(states) - 1)

    def undone(self) -> "Draft":
        """Return the draft one state back, if there is one."""
        return replace(self, at=max(self.at - 1, 0))

    def redone(self) -> "Draft":
        """Return the draft one state on, if there is one."""
        return replace(self, at=min(self.at + 1, len(self.states) - 1))


@dataclass(slots=True)
class Drafts:
    """The drafts of one person."""

    session: SessionBase
    _kept: dict[str, Any] = field(init=False)

    def __post_init__(self) -> None:
        kept = self.session.get(_SESSION)
        self._kept = kept if isinstance(kept, dict) else {}

    def get(self, order: Order, wish: Wish | None) -> Draft:
        """Return the draft of a wish; without one, a fresh one from what is stored."""
        found = _read(self._kept.get(_name(order, wish)))
        if found is not None:
            return found
        return Draft(order.version, (facts_of(wish) if wish else Facts(),))

    def keep(self, order: Order, wish: Wish | None, draft: Draft) -> None:
        """Keep a draft; the one that was not touched for longest goes when there are too many."""
        self.drop(order, wish)
        states = [[getattr(facts, name) for name in FIELDS] for facts in draft.states]
        self._kept[_name(order, wish)] = {"seen": draft.seen, "states": states, "at": draft.at}
        while len(self._kept) > _MOST_DRAFTS:
            del self._kept[next(iter(self._kept))]
        self.session[_SESSION] = self._kept

    def drop(self, order: Order, wish: Wish | None) -> None:
        """Forget a draft."""
        if self._kept.pop(_name(order, wish), None) is not None:
            self.session[_SESSION] = self._kept


def _name(order: Order, wish: Wish | None) -> str:
    return f"{order.pk}:{wish.row if wish else 'new'}"


def _read(kept: Mapping[str, Any] | None) -> Draft | None:
    """Read a draft; one that an earlier version of the program kept may be no draft any more."""
    try:
        if kept is None:
            return None
        rows = (dict(zip(FIELDS, row, strict=True)) for row in kept["states"])
        states = tuple(Facts(**row) for row in rows)
        draft = Draft(int(kept["seen"]), states, int(kept["at"]))
        Decimal(draft.facts.a4)
    except (KeyError, TypeError, ValueError, IndexError, InvalidOperation):
        return None
    else:
        return draft
