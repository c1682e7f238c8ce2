"""Writing SVG: elements as text, with every value escaped."""

import re
import zlib
from collections.abc import Mapping, Sequence
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from combwright.sheets.look import FONT_FAMILY

#: What XML 1.0 does not allow even as a reference. Source: docs/sources.md, [xml-10] section 2.2.
_FORBIDDEN: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

Value = str | float


def clean(text: str) -> str:
    """Return text with every character that XML forbids shown as a replacement mark."""
    return _FORBIDDEN.sub("\ufffd", text)


def element(name: str, attributes: Mapping[str, Value], *children: str) -> str:
    """Write one element; `children` are elements already written."""
    parts = "".join(f" {key}={quoteattr(clean(_text(v)))}" for key, v in attributes.items())
    if not children:
        return f"<{name}{parts}/>"
    return f"<{name}{parts}>{''.join(children)}</{name}>"


def words(name: str, attributes: Mapping[str, Value], text: str) -> str:
    """Write an element that holds text."""
    return element(name, attributes, escape(clean(text)))


def _text(value: Value) -> str:
    if isinstance(value, str):
        return value
    return f"{value:.2f}".rstrip("0").rstrip(".") if value % 1 else str(int(value))


def rectangle(x: float, y: float, width: float, height: float, look: Mapping[str, Value]) -> str:
    """Write a rectangle."""
    return element("rect", {"x": x, "y": y, "width": width, "height": height, **look})


def label(x: float, y: float, text: str, look: Mapping[str, Value]) -> str:
    """Write a line of text centred on `x` unless `look` anchors it otherwise."""
    return words("text", {"x": x, "y": y, "text-anchor": "middle", **look}, text)


def picture(title: str, about: str, size: tuple[float, float], parts: Sequence[str]) -> str:
    """Write a whole drawing: its parts, its title, and what it shows in words."""
    # Two drawings on one page must not share ids, and the same drawing must not change.
    mark = f"{zlib.crc32((title + about).encode(errors='replace')):08x}"
    return element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {size[0]:g} {size[1]:g}",
            "role": "img",
            "aria-labelledby": f"title-{mark} about-{mark}",
            "font-family": FONT_FAMILY,
        },
        words("title", {"id": f"title-{mark}"}, title),
        words("desc", {"id": f"about-{mark}"}, about),
        *parts,
    )
