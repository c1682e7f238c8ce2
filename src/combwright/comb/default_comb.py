"""The comb that is meant where none is named.

An invented ten-chamber comb of plausible size, from no real instrument: chambers that shorten
towards the treble, as reeds do, and the parts one instrument uses. A workshop measures its own and
writes it in a comb.toml.
"""

from types import MappingProxyType
from typing import Final

from combwright.comb.combs import Chamber, Comb, DeckRule

_LENGTHS_MM: Final = (17.0, 16.3, 15.6, 15.0, 14.3, 13.6, 13.0, 12.3, 11.6, 11.0)
_WIDTH_MM: Final = 4.6
_DEPTH_MM: Final = 5.2


def default_comb() -> Comb:
    """Return the ten-chamber comb that is meant where none is named."""
    return Comb(
        title="Ten-chamber comb",
        chambers=tuple(Chamber(length, _WIDTH_MM, _DEPTH_MM) for length in _LENGTHS_MM),
        end_margin_mm=0.2,
        upper=DeckRule(cover_clear_mm=3.0),
        lower=DeckRule(cover_clear_mm=3.0),
        parts=MappingProxyType({"comb": 1, "cover": 2, "screw": 4, "gasket": 20}),
    )
