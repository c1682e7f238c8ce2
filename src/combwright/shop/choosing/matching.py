"""Layouts ranked for a repertoire: the work of a job, told layout by layout."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from combwright.playing.costs import preset
from combwright.playing.documents import match_document
from combwright.playing.fitting import cores
from combwright.playing.matching import Candidate, rank
from combwright.shop.choosing.actions import Worked
from combwright.shop.choosing.candidates import Offered, candidates
from combwright.shop.choosing.picture import ranking_pictures
from combwright.shop.repertoire.models import Repertoire
from combwright.shop.repertoire.queries import tunes_of

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
    as_written = bool(asked["keys"])
    fits = rank(
        tunes,
        [
            Candidate(str(n), each.sounding, each.key, own=bool(each.serial))
            for n, each in enumerate(found)
        ],
        preset(asked["player"]),
        as_written=as_written,
        threads=spare_threads(),
        progress=lambda done, of: told(done, of, _ranked(done, of)),
    )
    document = match_document(fits, len(tunes), as_written=as_written)
    rows = [{**row, **found[int(row["layout"])].told} for row in document["layouts"]]
    notes = sum(len(tune.notes) for tune in tunes)
    names = {str(n): _named(each) for n, each in enumerate(found)}
    pictures = ranking_pictures(fits, names, len(tunes), as_written=as_written)
    return Worked(version, {**document, "layouts": rows, "notes": notes}, _best(rows), pictures)


def spare_threads() -> int:
    """Return on how many threads to work: the pages of a shop need a core too."""
    return max(1, cores() - 1)


def _ranked(done: int, of: int) -> str:
    return _("%(done)d of %(of)d instruments ranked") % {"done": done, "of": of}


def _named(each: Offered) -> str:
    return f"{each.title} ({each.changes})" if each.changes else each.title


def _best(rows: Sequence[Mapping[str, Any]]) -> str:
    if not rows:
        return ""
    first = rows[0]
    if first["serial"]:
        said = {"title": first["title"], "key": first["key"], "serial": first["serial"]}
        return _("best: %(title)s in %(key)s, their own %(serial)s") % said
    if first["key"]:
        return str(_("best: %(title)s in %(key)s") % first)
    return str(_("best: %s") % first["title"])
