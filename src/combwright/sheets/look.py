"""The look shared by drawings and pages: colours and the typeface.

No colour carries meaning alone; each stands beside a shape or a word. Two of the sketch's colours
were darkened: `QUIET` so that small text reads (4.5 to 1 and more on paper and plate), `BRASS` so
that the stair and the rivet stand out (3 to 1 and more). Source: docs/sources.md, [wcag-22].
"""

from typing import Final

INK: Final = "#1d2430"
PAPER: Final = "#fbfaf6"
PLATE: Final = "#f1ead8"
COMB: Final = "#e9e4d8"
BRASS: Final = "#a67f33"
NEXT: Final = "#1f4e8c"
WRONG: Final = "#b3261e"
QUIET: Final = "#5c626d"

#: Pages set the first, which comes with a package; a screen may fall back on its own.
TYPEFACE: Final = "Source Sans Pro"
FONT_FAMILY: Final = f"{TYPEFACE}, system-ui, sans-serif"
