"""Layouts ranked for a repertoire: the work of a job, told layout by layout."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from combwright.playing.costs import preset
from combwright.playing.documents import match_document
from combwright.playing.matching import LayoutFit, match
from combwright.shop.choosing.actions import Worked
from combwright.shop.choosing.candidates import Candidate, candidates
from combwright.shop.repertoire.models import Repertoire
from combwright.shop.repertoire.queries import tunes_of
from combwright.tunes.tune import Tune

#: Told how many layouts are done, of how many, and what is looked at next.
Told = Callable[[int, int, str], None]


def ranked(repertoire: Repertoire, asked: Mapping[str, Any], told: Told) -> Worked:
    """Rank what was asked for, and return it as it is kept.

    Raises
    ------
    CombwrightError
        If a layout or an instrument can no longer be read.
    """
    version = repertoire.version
    tunes = tunes_of(repertoire)
    found = candidates(asked, repertoire)
    fits = _fits(tunes, found, asked["player"], told)
    document = match_document(fits, len(tunes))
    rows = [{**row, **found[int(row["layout"])].told} for row in document["layouts"]]
    notes = sum(len(tune.notes) for tune in tunes)
    return Worked(version, {**document, "layouts": rows, "notes": notes}, _best(rows))


def _fits(
    tunes: Sequence[Tune], found: Sequence[Candidate], player: str, told: Told
) -> list[LayoutFit]:
    """Return how each is played, the cheapest first; of equal cost the earlier."""
    costs = preset(player)
    fits: list[LayoutFit] = []
    for n, each in enumerate(found):
        told(n, len(found), each.title)
        fits += match(tunes, [(str(n), each.sounding)], costs)
    return sorted(fits, key=lambda fit: fit.cost)


def _best(rows: Sequence[Mapping[str, Any]]) -> str:
    if not rows:
        return ""
    first = rows[0]
    if first["serial"]:
        said = {"title": first["title"], "key": first["key"], "serial": first["serial"]}
        return _("best: %(title)s in %(key)s, their own %(serial)s") % said
    return str(_("best: %s") % first["title"])
