"""What programs are to hear is written down together with what happened, and sent later.

So nobody hears of a step that was not kept, and no step that was kept goes untold. A call says only
which order it is and where it is on its way: whoever wants more asks for it, with a token.
"""

import json
import uuid
from collections.abc import Sequence

from django.utils import timezone

from combwright.shop.api.hook_models import EVENT_OF, TEST, Call, Hook
from combwright.shop.orders.listening import listen
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State


@listen
def note_step(orders: Sequence[Order], state: State) -> None:
    """Write a call of each order for every program that wants to hear of its step."""
    event = EVENT_OF.get(state)
    if event is None:
        return
    hooks = [each for each in Hook.objects.filter(off_at=None) if event in each.events]
    Call.objects.bulk_create(_call(each, event, order) for order in orders for each in hooks)


def _call(hook: Hook, event: str, order: Order) -> Call:
    facts: dict[str, object] = {
        "order": order.number,
        "outer_key": order.outer_key,
        "state": order.state,
        "version": order.version,
        "tracking": order.tracking,
    }
    return _new(hook, event, facts)


def note_test(hook: Hook) -> Call:
    """Write a call that says nothing, to see whether it arrives."""
    made = _new(hook, TEST, {})
    made.save()
    return made


def _new(hook: Hook, event: str, facts: dict[str, object]) -> Call:
    name, now = uuid.uuid4(), timezone.now()
    said = {"call": str(name), "event": event, "at": now.isoformat(), **facts}
    return Call(hook=hook, name=name, event=event, body=json.dumps(said), made_at=now)
