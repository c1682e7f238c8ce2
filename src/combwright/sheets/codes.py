"""QR codes, as SVG."""

import io
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

import segno

from combwright.sheets.bad_sheet import BadSheet

#: The letters that a QR code packs closer than bytes. Source: docs/sources.md, [iso-18004].
_CLOSE: Final = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")


@dataclass(frozen=True, slots=True)
class QrCode:
    """A QR code: its picture, and how many modules it counts across with its quiet zone."""

    svg: str
    modules: int


def qr_code(text: str, *, mends: Literal["L", "M"] = "L") -> QrCode:
    """Return a QR code that holds exactly `text`.

    Parameters
    ----------
    text : str
        What it holds.
    mends : {"L", "M"}
        The least level of error correction; where the same size of code has room for more, it
        takes more.

    Raises
    ------
    BadSheet
        If there is nothing to encode or the text is too long for a QR code.
    """
    if not text:
        raise BadSheet("A code needs a name to hold; this one is empty.")
    encoding = None if text.isascii() else "utf-8"
    try:
        # Short texts would become Micro QR, which many readers do not know.
        code = segno.make(text, micro=False, encoding=encoding, error=mends)
    except segno.DataOverflowError as error:
        raise BadSheet(
            f"The name beginning {text[:20]!r} has {len(text)} characters, too many for a QR "
            "code; give it a shorter one."
        ) from error
    out = io.BytesIO()
    code.save(out, kind="svg", xmldecl=False, svgclass=None, lineclass=None, omitsize=True)
    return QrCode(out.getvalue().decode(), int(code.symbol_size()[0]))


def modules_of(text: str, *, mends: Literal["L", "M"] = "L") -> int:
    """Return how many modules the code of a text counts across with its quiet zone.

    It depends on the text's length and kind alone, and is known long before the code is drawn.

    Raises
    ------
    BadSheet
        If there is nothing to encode or the text is too long for a QR code.
    """
    if text.isascii() and text.isdigit():
        return _modules("0", len(text), mends)
    if _CLOSE.issuperset(text):
        return _modules("A", len(text), mends)
    return _modules("a", len(text.encode()), mends)


@lru_cache(maxsize=4096)
def _modules(letter: str, length: int, mends: Literal["L", "M"]) -> int:
    return qr_code(letter * length, mends=mends).modules
