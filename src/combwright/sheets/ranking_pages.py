"""A ranking on paper: the picture, every instrument in a table, and what is hard on the first."""

from collections.abc import Sequence

from combwright.playing.documents import candidate_name, hard_words, worst_words
from combwright.playing.matching import LayoutFit
from combwright.playing.tabbing import LEGEND
from combwright.sheets.figures import counted
from combwright.sheets.ranking import ranking_svg
from combwright.sheets.typeset import Press, on_one_line, pages, shortened

_UNIT = 100
_LONGEST = 90


def ranking_pdf(
    fits: Sequence[LayoutFit],
    tunes: int,
    *,
    as_written: bool = False,
    paper: str = "A4",
    shared: Press | None = None,
) -> bytes:
    """Set a ranking as a PDF.

    Parameters
    ----------
    fits : sequence of LayoutFit
        At least one, the best first.
    tunes : int
        How many tunes they were ranked for.
    as_written : bool
        Whether tunes were moved by octaves only.
    paper : {"A4", "letter"}
        The size of the pages.
    shared : Press or None
        A press to share.
    """
    where = "in their own keys, moved by octaves only" if as_written else "at their best places"
    data = {
        "paper": paper,
        "title": f"{counted(len(fits), 'instrument')} ranked for {counted(tunes, 'tune')}",
        "table_title": f"All {counted(len(fits), 'instrument')}, {counted(tunes, 'tune')} {where}",
        "running": f"{counted(tunes, 'tune')} {where}",
        "svg": ranking_svg(fits, tunes, as_written=as_written, ground=False),
        "legend": LEGEND,
        "rows": [_row(place, each, tunes) for place, each in enumerate(fits, start=1)],
        "worst": [on_one_line(worst_words(each)) for each in fits[0].worst],
        "hardest": [hard_words(each) for each in fits[0].hardest],
    }
    return pages("ranking", data, shared)


def _row(place: int, fit: LayoutFit, tunes: int) -> dict[str, object]:
    shares = {
        "natural": fit.natural,
        "bends": fit.with_bends,
        "overbends": fit.with_overbends,
    }
    return {
        "place": place,
        "name": shortened(candidate_name(fit).removesuffix(" (yours)"), _LONGEST),
        "own": fit.own,
        **{name: f"{share / tunes:.1%}" for name, share in shares.items()},
        "per": f"{fit.bends_per_100:.2f}",
        "cost": f"{fit.cost / _UNIT:,.1f}",
    }
