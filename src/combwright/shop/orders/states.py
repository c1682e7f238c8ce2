"""The states of an order, and which steps lead from one to another."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from combwright.errors import CombwrightError


class State(StrEnum):
    """Where an order is on its way."""

    DRAFT = "draft"
    OPEN = "open"
    ASIDE = "aside"
    PICKING = "picking"
    BENCH = "bench"
    BUILT = "built"
    SENT = "sent"
    CANCELLED = "cancelled"


STATES: Final = [
    (State.DRAFT.value, gettext_lazy("being designed")),
    (State.OPEN.value, gettext_lazy("open")),
    (State.ASIDE.value, gettext_lazy("plates set aside")),
    (State.PICKING.value, gettext_lazy("being picked")),
    (State.BENCH.value, gettext_lazy("on the bench")),
    (State.BUILT.value, gettext_lazy("built")),
    (State.SENT.value, gettext_lazy("sent")),
    (State.CANCELLED.value, gettext_lazy("cancelled")),
]
#: From each state the states that may follow.
STEPS: Final[Mapping[State, frozenset[State]]] = MappingProxyType(
    {
        State.DRAFT: frozenset({State.OPEN, State.CANCELLED}),
        State.OPEN: frozenset({State.DRAFT, State.ASIDE, State.CANCELLED}),
        State.ASIDE: frozenset({State.OPEN, State.PICKING, State.CANCELLED}),
        State.PICKING: frozenset({State.OPEN, State.BENCH, State.CANCELLED}),
        State.BENCH: frozenset({State.OPEN, State.BUILT, State.CANCELLED}),
        State.BUILT: frozenset({State.BENCH, State.SENT, State.CANCELLED}),
        State.SENT: frozenset(),
        State.CANCELLED: frozenset(),
    }
)


class NoSuchStep(CombwrightError):
    """A step that does not follow from an order's state."""

    def __init__(self, number: str, state: str, wanted: str) -> None:
        words = {value: str(label) for value, label in STATES}
        allowed = [words[each] for each in State if each in STEPS[State(state)]]
        text = _(
            "Order %(number)s is %(state)s and cannot become %(wanted)s; "
            "what may follow: %(allowed)s."
        )
        super().__init__(
            text
            % {
                "number": number,
                "state": words[state],
                "wanted": words[wanted],
                "allowed": ", ".join(allowed) or _("nothing"),
            }
        )


def check_step(number: str, state: str, wanted: State) -> None:
    """Make sure that a state may follow another.

    Raises
    ------
    NoSuchStep
        If it may not; it says what may.
    """
    if wanted not in STEPS[State(state)]:
        raise NoSuchStep(number, state, wanted)
