"""The colours of the style sheet, and WCAG's contrast of two of them."""

import re
from pathlib import Path

from combwright.shop import look

STYLE = Path(look.__file__).parent / "static" / "look" / "shop.css"
_TOKEN = re.compile(r"--([\w-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\);")
_SAME = re.compile(r"--([\w-]+): var\(--([\w-]+)\);")


def palette(scheme):
    """Every colour by its token's name, in the light or the dark scheme."""
    text = STYLE.read_text("utf-8")
    place = {"light": 2, "dark": 3}[scheme]
    colours = {found[1]: found[place] for found in _TOKEN.finditer(text)}
    return colours | {
        found[1]: colours[found[2]] for found in _SAME.finditer(text) if found[2] in colours
    }


def lightness(colour):
    """WCAG 2.2, "relative luminance" (docs/sources.md, [wcag-22])."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(share * p for share, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    """WCAG 2.2, "contrast ratio" (docs/sources.md, [wcag-22])."""
    low, high = sorted((lightness(one), lightness(other)))
    return (high + 0.05) / (low + 0.05)
