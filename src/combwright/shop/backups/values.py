"""How a value of the database is written into a backup, and read from it exactly.

A row is a JSON list. Every field is told apart by Django's own name for its kind; a kind that is
not known here is refused when a backup is made, not found missing when one is needed.
"""

import base64
import datetime as dt
import json
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any, Final

from django.db.models import Field

Change = Callable[[Any], Any]
_MICROSECOND: Final = dt.timedelta(microseconds=1)
#: From here on a float has no fraction, and PostgreSQL gives it back as a whole number.
_WHOLE_FLOATS: Final = 1e16
_AS_THEY_ARE: Final = frozenset(
    {
        "AutoField", "BigAutoField", "SmallAutoField", "BigIntegerField", "IntegerField",
        "SmallIntegerField", "PositiveBigIntegerField", "PositiveIntegerField",
        "PositiveSmallIntegerField", "BooleanField", "CharField", "TextField", "SlugField",
        "FloatField", "GenericIPAddressField",
    }
)  # fmt: skip
_KINDS: Final[dict[str, tuple[Change, Change]]] = {
    "DecimalField": (lambda number: format(number, "f"), Decimal),
    "DateTimeField": (
        lambda moment: moment.astimezone(dt.UTC).isoformat(),
        dt.datetime.fromisoformat,
    ),
    "DateField": (dt.date.isoformat, dt.date.fromisoformat),
    "TimeField": (dt.time.isoformat, dt.time.fromisoformat),
    "DurationField": (
        lambda long: long // _MICROSECOND,
        lambda micros: dt.timedelta(microseconds=micros),
    ),
    "BinaryField": (
        lambda data: base64.b64encode(bytes(data)).decode(),
        lambda text: base64.b64decode(text, validate=True),
    ),
    "UUIDField": (str, uuid.UUID),
    "JSONField": (lambda value: settled(value), lambda value: value),
}


def writer(field: "Field[Any, Any]") -> Change | None:
    """Return what turns a field's value into JSON; None where it is JSON as it is."""
    return _ways(field)[0]


def reader(field: "Field[Any, Any]") -> Change | None:
    """Return what turns JSON back into a field's value; None where it is the value."""
    return _ways(field)[1]


def _ways(field: "Field[Any, Any]") -> tuple[Change | None, Change | None]:
    meant = field
    while meant.remote_field is not None:
        meant = meant.target_field  # type: ignore[attr-defined]
    kind = meant.get_internal_type()
    if kind in _AS_THEY_ARE:
        return None, None
    if kind not in _KINDS:
        raise TypeError(f"Backups do not know how to write {field} ({kind}); see values.py.")
    there, back = _KINDS[kind]
    return (
        lambda value: None if value is None else there(value),
        lambda value: None if value is None else back(value),
    )


def settled(value: Any) -> Any:
    """Return a JSON value as every database gives it back: one spelling for each number."""
    if isinstance(value, dict):
        return {name: settled(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [settled(inner) for inner in value]
    if isinstance(value, float):
        # Adding nothing turns minus zero into zero.
        return int(value) if abs(value) >= _WHOLE_FLOATS else value + 0.0
    return value


def line(row: list[Any]) -> bytes:
    """Return a row as one line of a backup; equal rows give equal lines."""
    text = json.dumps(row, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    return text.encode() + b"\n"
