"""The values of orders that programs send, beside those of the rack (`words.py`)."""

import re
from datetime import UTC, date, datetime
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field

from combwright.files.orders import LOWEST_PRIORITY, MOST_QUANTITY
from combwright.shop.api.words import (
    EMAIL_OR_NONE,
    LINE,
    LINE_OR_NONE,
    WITHOUT_NUL,
    AskedCode,
    whole,
)

_DAY: Final = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
#: A moment as [rfc3339] writes it.
_MOMENT: Final = re.compile(
    r"(\d{4}-\d\d-\d\d)[Tt](\d\d:\d\d):(\d\d)(?:\.\d+)?([Zz]|[+-]\d\d:\d\d)", re.ASCII
)
_FIRST: Final = datetime(1970, 1, 1, tzinfo=UTC)
_LAST: Final = datetime(9999, 1, 1, tzinfo=UTC)


def _day(value: Any) -> Any:
    if not isinstance(value, str) or not _DAY.fullmatch(value):
        return value
    try:
        return date.fromisoformat(value)
    except ValueError:
        return value


def _moment(value: Any) -> Any:
    found = _MOMENT.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        return value
    day, minute, second, zone = found.groups()
    # A leap second is told as the second before it; no order was changed in its last half.
    second = min(second, "59")
    try:
        said = datetime.fromisoformat(f"{day}T{minute}:{second}{zone.upper()}")
    except ValueError:
        return value
    return min(max(_in_utc(said), _FIRST), _LAST)


def _in_utc(said: datetime) -> datetime:
    try:
        return said.astimezone(UTC)
    except OverflowError:
        return _FIRST if said.year < _FIRST.year else _LAST


Day = Annotated[date, Field(strict=True), BeforeValidator(_day)]
Moment = Annotated[datetime, Field(strict=True), BeforeValidator(_moment)]
OrderNumber = Annotated[str, Field(min_length=1, max_length=40, pattern=LINE)]
OuterKey = Annotated[str, Field(min_length=1, max_length=100, pattern=LINE)]
Line120 = Annotated[str, Field(min_length=1, max_length=120, pattern=LINE)]
Email = Annotated[str, Field(max_length=250, pattern=EMAIL_OR_NONE)]
Phone = Annotated[str, Field(max_length=40, pattern=LINE_OR_NONE)]
PostAddress = Annotated[str, Field(max_length=500, pattern=WITHOUT_NUL)]
Remarks = Annotated[str, Field(max_length=1000, pattern=WITHOUT_NUL)]
What = Literal["instrument", "plates"]
Quantity = Annotated[int, Field(ge=1, le=MOST_QUANTITY), BeforeValidator(whole)]
Priority = Annotated[int, Field(ge=1, le=LOWEST_PRIORITY), BeforeValidator(whole)]
WishKey = Annotated[str, Field(min_length=1, max_length=10, pattern=LINE)]
Name60 = Annotated[str, Field(min_length=1, max_length=60, pattern=LINE)]
Name60OrNone = Annotated[str, Field(max_length=60, pattern=LINE_OR_NONE)]
Changes = Annotated[str, Field(max_length=2000, pattern=WITHOUT_NUL)]
Kit = Annotated[str, Field(max_length=1000, pattern=WITHOUT_NUL)]
A4 = Annotated[float, Field(ge=415, le=466)]
StateName = Literal["draft", "open", "aside", "picking", "bench", "built", "sent", "cancelled"]
AskedOrder = AskedCode
