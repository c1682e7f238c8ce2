"""Tab on paper: tunes engraved with the tab under each note, one PDF for a whole repertoire."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from combwright.playing.costs import PlayingCosts
from combwright.playing.tabbing import LEGEND, Tab, explain, way_text
from combwright.sheets.engraving import NARROW_MM, WIDE_MM, Engraver, Line
from combwright.sheets.figures import counted
from combwright.sheets.mei import Staff, staff_of
from combwright.sheets.typeset import Press, on_one_line, pages, shortened

_UNIT: Final = 100
_LONGEST_TITLE: Final = 120
_LONGEST_SOURCE: Final = 44
_PARTS: Final = {
    "bends": "bends", "overbends": "overbends", "along": "notes that bring another along",
    "missing": "notes not there", "moves": "breath and jumps",
}  # fmt: skip
ROUNDED: Final = "Its times lie between note values and were rounded to be written."

#: Told how many tunes are engraved, and how many there are.
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class TabSheet:
    """What stands over every page.

    Parameters
    ----------
    instrument : str
        The layout, its key and what is changed, in words.
    paper : {"A4", "letter"}
        The size of the pages.
    """

    instrument: str
    paper: str = "A4"


def tab_lines_svg(found: Tab, *, narrow: bool = False) -> tuple[str, ...]:
    """Draw a tab for a screen, one SVG for each line of music, on paper of its own colour.

    Parameters
    ----------
    found : Tab
        A tune of at least one note.
    narrow : bool
        Whether lines are broken for a telephone.
    """
    engraver = Engraver(NARROW_MM if narrow else WIDE_MM)
    lines = _lines(engraver, _staff(found), found, ground=True)
    return tuple(line.svg for line in lines)


def tab_pages(
    tabs: Sequence[Tab],
    costs: PlayingCosts,
    sheet: TabSheet,
    *,
    shared: Press | None = None,
    progress: Progress | None = None,
) -> bytes:
    """Set tabs as a PDF; more than one have a list of contents before them.

    Parameters
    ----------
    tabs : sequence of Tab
        At least one.
    costs : PlayingCosts
        Under which they were found.
    sheet : TabSheet
        The instrument and the paper.
    shared : Press or None
        A press to share.
    progress : callable or None
        Told of every tune.
    """
    engraver = Engraver()
    tunes = []
    for n, found in enumerate(tabs, start=1):
        tunes.append(_tune(engraver, found, costs))
        if progress is not None:
            progress(n, len(tabs))
    data = {
        "paper": sheet.paper,
        "instrument": on_one_line(sheet.instrument),
        "legend": LEGEND,
        "tunes": tunes,
    }
    return pages("tabs", data, shared)


def _staff(found: Tab) -> Staff:
    return staff_of(found.tune, found.shift, [way_text(way) for way in found.ways])


def _lines(engraver: Engraver, staff: Staff, found: Tab, *, ground: bool) -> tuple[Line, ...]:
    missing = {n for n, way in enumerate(found.ways) if way is None}
    title = f"{on_one_line(found.tune.title)} with its tab"
    return engraver.lines(staff, title, framed=missing, ground=ground)


def _tune(engraver: Engraver, found: Tab, costs: PlayingCosts) -> dict[str, Any]:
    staff = _staff(found)
    lines = _lines(engraver, staff, found, ground=False)
    remarks = [*found.tune.remarks, *([ROUNDED] if staff.rounded else [])]
    return {
        "title": shortened(found.tune.title, _LONGEST_TITLE),
        "source": _end_of(found.tune.source),
        "facts": ". ".join(_facts(found)) + ".",
        "cost": ". ".join(cost_words(found, costs)) + ".",
        "brief": brief(found),
        "remarks": [on_one_line(text) for text in remarks],
        "lines": [{"svg": each.svg, "width": each.width_mm} for each in lines],
    }


def _end_of(source: str) -> str:
    """Return the end of where a tune comes from, which says its file and row."""
    line = on_one_line(source)
    return line if len(line) <= _LONGEST_SOURCE else "\u2026" + line[1 - _LONGEST_SOURCE :]


def brief(found: Tab) -> str:
    """Say in a word or two what is hard about a tab, for a list of contents."""
    hard = [(found.unplayable, "not there"), (found.overbends, "overbent"), (found.bends, "bent")]
    return ", ".join(f"{count} {how}" for count, how in hard if count) or "natural notes"


def _facts(found: Tab) -> Iterator[str]:
    moved = found.shift
    if moved:
        way = "up" if moved > 0 else "down"
        octaves, rest = divmod(abs(moved), 12)
        by = counted(octaves, "octave") if not rest else counted(abs(moved), "semitone")
        yield f"Moved {way} {by} from where it is written"
    else:
        yield "At the pitch at which it is written"
    yield (
        f"{counted(len(found.ways), 'note')}: {found.bends} bent, {found.overbends} overbent, "
        f"{found.unplayable} not on this instrument"
    )


def cost_words(found: Tab, costs: PlayingCosts) -> Iterator[str]:
    """Say what a tab costs and what the cost is made of."""
    parts = [
        f"{_PARTS[name]} {cost / _UNIT:g}" for name, cost in explain(found, costs).items() if cost
    ]
    made = f": {', '.join(parts)}" if parts else ""
    yield f"Playing cost {found.cost / _UNIT:g}{made}"
