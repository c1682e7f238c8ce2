"""What happens at the door, one line each in the log: an event, then facts as key=value.

Values are written as JSON, so that nothing typed can begin a line of its own. No password, no
one-time link and no name that belongs to nobody (it may be a password in the wrong field) is
ever a fact.
"""

import json
import logging
from collections.abc import Mapping
from typing import Final

_LOG: Final = "combwright"


def write(
    event: str,
    facts: Mapping[str, str | int],
    *,
    level: int = logging.INFO,
    room: str = "people",
) -> None:
    """Write a line about a room."""
    said = " ".join(f"{key}={json.dumps(value)}" for key, value in facts.items())
    logging.getLogger(f"{_LOG}.{room}").log(level, "event=%s %s", event, said)
