"""What a label's code holds: the address of the shop's scan door, or where it is tight a mark.

An address is `<origin>/papers/s/<letter>/<code>`, so that a phone's own camera opens it. The shop
may be called by another name tomorrow: only the path counts when it is read. A mark is
`<letter>:<code>` with a capital letter; it takes far less room, and only the shop's own page reads
it.
"""

import re
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote, unquote

#: The letter of each kind of thing in addresses and marks.
BIN, BATCH, PLATE, ITEM = "b", "t", "p", "i"
LETTERS: Final = (BIN, BATCH, PLATE, ITEM)
DOOR: Final = "/papers/s/"
_ADDRESS: Final = re.compile(
    rf"(?:[a-z][a-z0-9+.-]*://[^/?#]*)?(?:/[^?#]*)?{DOOR}([{''.join(LETTERS)}])/([^?#]+)",
    re.IGNORECASE,
)
_MARK: Final = re.compile(rf"([{''.join(LETTERS)}]):(.+)", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Read:
    """What a text names: a code, and the letter of its kind where the text says that too."""

    code: str
    letter: str = ""


def address(origin: str, letter: str, code: str) -> str:
    """Return the address that a label's code holds; `origin` as in `http://shop.lan:8000`."""
    return f"{origin}{DOOR}{letter}/{quote(code, safe='')}"


def mark(letter: str, code: str) -> str:
    """Return the short mark that a small label's code holds."""
    return f"{letter.upper()}:{code}"


def read(text: str) -> tuple[Read, ...]:
    """Return what a scanned or typed text may name, what is likeliest first.

    An address names one thing. Anything else may be a code as it stands, a mark included: a bin
    may well be called `B:7`.
    """
    text = text.strip()
    found = _ADDRESS.fullmatch(text)
    if found:
        return (Read(unquote(found[2]), found[1].lower()),)
    marked = _MARK.fullmatch(text)
    bare = (Read(text),) if text else ()
    return ((Read(marked[2], marked[1].lower()),) if marked else ()) + bare


def is_garbled(text: str) -> bool:
    """Say whether this was an address until a scanner typed it for another keyboard."""
    lowered = text.strip().lower()
    return lowered.startswith(("http", "https")) and "://" not in lowered
