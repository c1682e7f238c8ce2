"""QR codes, as SVG."""

import io
from dataclasses import dataclass

import segno

from combwright.sheets.bad_sheet import BadSheet


@dataclass(frozen=True, slots=True)
class QrCode:
    """A QR code: its picture, and how many modules it counts across with its quiet zone."""

    svg: str
    modules: int


def qr_code(text: str) -> QrCode:
    """Return a QR code that holds exactly `text`.

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
        code = segno.make(text, micro=False, encoding=encoding)
    except segno.DataOverflowError as error:
        raise BadSheet(
            f"The name beginning {text[:20]!r} has {len(text)} characters, too many for a QR "
            "code; give it a shorter one."
        ) from error
    out = io.BytesIO()
    code.save(out, kind="svg", xmldecl=False, svgclass=None, lineclass=None, omitsize=True)
    return QrCode(out.getvalue().decode(), int(code.symbol_size()[0]))
