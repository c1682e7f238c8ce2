"""The values that programs send: what each may be, said once for the code and the document.

Money is a text with a decimal point, since numbers in JSON are not decimals everywhere. Notes,
cents and millimetres are as in the shop's files. Texts of one line hold no control characters,
nothing that cannot be seen, and no blanks at their ends.
"""

import re
from collections.abc import Mapping
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field

from combwright.shop.rack.forms import MOST_PLATES

#: The largest whole number that every reader of JSON keeps exactly.
MOST_ID: Final = 2**53 - 1
_UNSEEN: Final = r"\x00-\x1f\x7f-\x9f\xad\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff0-\ufffb"
_BLANK: Final = r"\x20\xa0\u1680\u2000-\u200a\u202f\u205f\u3000"
LINE: Final = rf"^[^{_UNSEEN}{_BLANK}]([^{_UNSEEN}]*[^{_UNSEEN}{_BLANK}])?$"
LINE_OR_NONE: Final = rf"^([^{_UNSEEN}{_BLANK}]([^{_UNSEEN}]*[^{_UNSEEN}{_BLANK}])?)?$"
WITHOUT_NUL: Final = r"^[^\x00]*$"
#: Every note from C-1 to G9 as `parse_note` reads it, without cents.
NOTE: Final = (
    r"^([A-Ga-g]([#♯]{0,2}|[b♭]{0,2})[0-8]"
    r"|[Bb][#♯]{1,2}-2|[A-Ga-g][#♯]{0,2}-1|[ABD-Gabd-g][b♭]{1,2}-1"
    r"|[C-Fc-f]([#♯]{0,2}|[b♭]{0,2})9|[Gg][b♭]{0,2}9|[Aa][b♭]{2}9)$"
)
KEY: Final = r"^((low|high) )?[A-G][#b]?$"
MONEY: Final = r"^(0|[1-9][0-9]{0,6})(\.[0-9]{1,2})?$"
EMAIL_OR_NONE: Final = r"^([!-?A-~]{1,64}@[!-?A-~]{1,180})?$"
IDEMPOTENCY_KEY: Final = r"^[!-~]([ -~]{0,198}[!-~])?$"

#: What each pattern means, for those whom it turns away.
MEANING: Final[Mapping[str, str]] = {
    LINE: "one line of text, without blanks at its ends and without control characters",
    LINE_OR_NONE: "one line of text, without blanks at its ends and without control characters",
    WITHOUT_NUL: "a text without NUL characters",
    NOTE: "a note without cents, as F#5 or Bb4",
    KEY: "a key, as A, Bb or low F",
    MONEY: 'a text with at most two decimals, as "2.20"',
    EMAIL_OR_NONE: "an e-mail address in ASCII characters, or an empty text",
    IDEMPOTENCY_KEY: "visible characters",
}


def whole(value: Any) -> Any:
    """JSON knows one kind of number: 3.0 is 3 to it."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _written_whole(value: Any) -> Any:
    """Take digits in an address for a number, and nothing else that Python would."""
    return int(value) if isinstance(value, str) and re.fullmatch(r"-?[0-9]{1,17}", value) else value


def _written_number(value: Any) -> Any:
    number = isinstance(value, str) and re.fullmatch(r"-?[0-9]{1,17}(\.[0-9]{1,17})?", value)
    return float(value) if number else value


def _written_yes(value: Any) -> Any:
    return {"true": True, "false": False}.get(value, value) if isinstance(value, str) else value


# Bounds stand before the validators: behind them they would hold, but not be in the document.
WrittenYes = Annotated[bool, Field(strict=True), BeforeValidator(_written_yes)]
Limit = Annotated[int, Field(strict=True, ge=1, le=200), BeforeValidator(_written_whole)]
Number = Annotated[int, Field(strict=True, ge=1, le=MOST_ID), BeforeValidator(_written_whole)]
LastNumber = Annotated[int, Field(strict=True, ge=0, le=MOST_ID), BeforeValidator(_written_whole)]
FitsMm = Annotated[float, Field(strict=True, ge=0.1, le=60), BeforeValidator(_written_number)]

Line40 = Annotated[str, Field(min_length=1, max_length=40, pattern=LINE)]
Line40OrNone = Annotated[str, Field(max_length=40, pattern=LINE_OR_NONE)]
Line30 = Annotated[str, Field(min_length=1, max_length=30, pattern=LINE)]
Line20OrNone = Annotated[str, Field(max_length=20, pattern=LINE_OR_NONE)]
Why = Annotated[str, Field(min_length=1, max_length=300, pattern=LINE)]
Note = Annotated[str, Field(max_length=300, pattern=LINE_OR_NONE)]
Because = Annotated[str, Field(min_length=1, max_length=200, pattern=LINE)]
About = Annotated[str, Field(max_length=200, pattern=LINE_OR_NONE)]
LayoutOrNone = Annotated[str, Field(max_length=60, pattern=LINE_OR_NONE)]
ItemKind = Literal["set", "donor", "part"]
Pitch = Annotated[str, Field(min_length=2, max_length=6, pattern=NOTE)]
Money = Annotated[str, Field(max_length=10, pattern=MONEY)]
Cents = Annotated[float, Field(ge=-600, le=600)]
SlotMm = Annotated[float, Field(ge=0.1, le=60)]
Plates = Annotated[int, Field(ge=1, le=MOST_PLATES), BeforeValidator(whole)]
Found = Annotated[int, Field(ge=0, le=MOST_PLATES), BeforeValidator(whole)]
Lost = Annotated[int, Field(ge=0, le=200), BeforeValidator(whole)]
Sets = Annotated[int, Field(ge=1, le=200), BeforeValidator(whole)]
Mount = Literal["front", "rear"]
OrdinaryKey = Literal["G", "Ab", "A", "Bb", "B", "C", "Db", "D", "Eb", "E", "F", "F#"]
IdempotencyKey = Annotated[str, Field(min_length=1, max_length=200, pattern=IDEMPOTENCY_KEY)]
#: In an address any text may be asked for; what is not there is not found.
AskedCode = Annotated[str, Field(min_length=1, max_length=40, pattern=WITHOUT_NUL)]
AskedKey = Annotated[str, Field(max_length=7, pattern=KEY)]
AskedText = Annotated[str, Field(max_length=60, pattern=WITHOUT_NUL)]
