"""Rooms above this one that want to know of every step of an order.

They are called inside the transaction of the step, so what they write is kept together with it or
not at all. They must be quick, and must not ask anything outside of the database.
"""

from collections.abc import Callable, Sequence
from typing import Final

from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State

Listener = Callable[[Sequence[Order], State], None]
_LISTENERS: Final[dict[str, Listener]] = {}


def listen(listener: Listener) -> Listener:
    """Have a function called with the orders that have come into another state, and that state."""
    _LISTENERS[f"{listener.__module__}.{listener.__qualname__}"] = listener
    return listener


def tell_listeners(orders: Sequence[Order], state: State) -> None:
    """Tell all who listen that orders have just come into a state; each is asked once for all."""
    for listener in _LISTENERS.values() if orders else ():
        listener(orders, state)
