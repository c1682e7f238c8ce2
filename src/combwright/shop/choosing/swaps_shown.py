"""The best swaps as their page shows them: sets, what each does, the plates, the proof."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from combwright.shop.choosing.models import Answer, MadeWish
from combwright.shop.choosing.ranking_shown import Wishes
from combwright.shop.designs.queries import workshop

#: A blank at which no line ends: a change is read in one piece.
_FIRM: Final = "\u00a0"
_HOWS: Final = {
    "natural": gettext_lazy("natural"), "bend": gettext_lazy("bent"),
    "overbend": gettext_lazy("overbent"), "missing": gettext_lazy("missing"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class SetShown:
    """A set of swaps.

    Parameters
    ----------
    row : int
        Which of the answer, from 0.
    said : mapping
        What the answer says.
    name : str
        Its changes.
    natural : float
        Share of tunes in hundredths.
    saves : float
        By how much it is cheaper than the base.
    plates : tuple of str
        Where the new reeds come from, one line each.
    made : sequence of MadeWish
        The wishes that were made of it.
    """

    row: int
    said: Mapping[str, Any]
    name: str
    natural: float
    saves: float
    plates: tuple[str, ...]
    made: Sequence[MadeWish]

    @property
    def lost(self) -> str:
        """The notes that are harder to get than before, and how."""
        return ", ".join(_notes(self.said["elsewhere"]["lost"], _("%(note)s %(was)s, now %(now)s")))

    @property
    def gained(self) -> str:
        """The notes that are easier to get than before, and how."""
        gained = self.said["elsewhere"]["gained"]
        return ", ".join(_notes(gained, _("%(note)s %(now)s, was %(was)s")))


@dataclass(frozen=True, slots=True)
class RoundShown:
    """The best sets of one size, and the proof that they are."""

    size: int
    sets: tuple[SetShown, ...]
    proof: str
    elsewhere: tuple[tuple[str, str], ...]

    @property
    def title(self) -> str:
        """What stands above them."""
        return ngettext("%d reed swapped", "%d reeds swapped", self.size) % self.size


def swaps(answer: Answer, wishes: Wishes, _page: str | None) -> dict[str, Any]:
    """Return what the page of an answer about swaps shows."""
    said = answer.said or {}
    currency = workshop().currency
    row, rounds = 0, []
    for each in said["rounds"]:
        sets = []
        for found in each["best"]:
            sets.append(_set(row, found, said, currency, wishes.get(row, ())))
            row += 1
        rounds.append(
            RoundShown(each["swaps"], tuple(sets), _proof(each, said), _elsewhere(each["best"]))
        )
    base = said["base_of"]
    named = _("%(title)s in %(key)s") % base
    return {
        "rounds": rounds, "base": _set(-1, said["base"], said, currency, ()),
        "base_name": f"{named} ({base['changes']})" if base["changes"] else named,
        "serial": base["serial"], "stocked": said["base"]["plates"] is not None,
    }  # fmt: skip


def _set(
    row: int,
    found: Mapping[str, Any],
    said: Mapping[str, Any],
    currency: str,
    made: Sequence[MadeWish],
) -> SetShown:
    changes = (each.replace(" ", _FIRM) for each in found["changes"])
    return SetShown(
        row, found, "; ".join(changes), 100 * found["natural"] / said["tunes"],
        said["base"]["cost"] - found["cost"],
        tuple(_plate(each, currency) for each in found["plates"] or ()), made,
    )  # fmt: skip


def _notes(changes: Sequence[Mapping[str, str]], form: str) -> Iterator[str]:
    for each in changes:
        yield form % {
            "note": each["note"], "was": _HOWS[each["was"]], "now": _HOWS[each["now"]]
        }  # fmt: skip


def _plate(each: Mapping[str, Any], currency: str) -> str:
    facts = {"change": each["change"], "plate": each["plate"]}
    if each["from"] == "kit":
        return _("%(change)s: the kit's %(plate)s") % facts
    if each["from"] == "seat":
        return _("%(change)s: the plate taken out of %(plate)s") % facts
    facts["cost"] = f"{_decimal(each['cost'], 2)} {currency}"
    line = _("%(change)s: bin %(plate)s, %(cost)s") % facts
    if each["way"] == "none":
        return line
    how = _("weight") if each["way"] == "weight" else _("file")
    sign = "+" if each["retune_cents"] > 0 else "−"
    return f"{line}, {how} {sign}{_decimal(abs(each['retune_cents']), 1)} {_('cents')}"


def _decimal(number: float, places: int) -> str:
    return str(number_format(number, places))


def _proof(each: Mapping[str, Any], said: Mapping[str, Any]) -> str:
    if not each["candidates"]:
        return (
            _("There is no such set that there are plates for.")
            if said["base"]["plates"] is not None
            else _("There is no such set.")
        )
    facts = {
        "all": number_format(each["candidates"], force_grouping=True),
        "full": number_format(each["evaluated"], force_grouping=True),
        "rest": number_format(each["candidates"] - each["evaluated"], force_grouping=True),
        "seen": number_format(each["bounded"], force_grouping=True),
    }
    if not each["proven"]:
        return _("Not proven: %(seen)s of %(all)s sets were looked at.") % facts
    if each["lowest_bound_left"] is None:
        return _("Proven: %(all)s sets in all, each worked out in full; none is cheaper.") % facts
    facts["least"] = _decimal(each["lowest_bound_left"], 2)
    return (
        _("Proven: there are %(all)s such sets. For each a cost was found that it cannot go below; "
          "%(full)s might by that be among the best and were worked out in full. None of the other "
          "%(rest)s can cost less than %(least)s.") % facts
    )  # fmt: skip


def _elsewhere(best: Sequence[Mapping[str, Any]]) -> tuple[tuple[str, str], ...]:
    """Return what the first of some sets changes beside the tunes' cost: a name, and what."""
    if not best:
        return ()
    found = best[0]["elsewhere"]
    lines = (
        (_("Chords of three holes"),
         "; ".join(_chord(c) for c in found["chords"] if len(c["holes"]) == 3)),
        (_("Octaves"), "; ".join(_chord(c) for c in found["splits"])),
        (_("Major scales"), "; ".join(_scale(s) for s in found["scales"])),
        (_("Tunes that get harder most"), "; ".join(_tune(t) for t in found["worst"])),
        (_("Tunes that get easier most"), "; ".join(_tune(t) for t in found["helped"])),
    )  # fmt: skip
    return tuple((name, words) for name, words in lines if words)


def _chord(each: Mapping[str, Any]) -> str:
    breath = _("draw") if each["breath"] == "draw" else _("blow")
    holes = f"{each['holes'][0]}–{each['holes'][-1]}"
    was, now = each["was"] or _("nothing"), each["now"] or _("nothing")
    facts = {"holes": holes, "breath": breath, "was": was, "now": now}
    return _("%(holes)s %(breath)s %(was)s becomes %(now)s") % facts


def _scale(each: Mapping[str, Any]) -> str:
    facts = {
        "position": each["position"], "tonic": each["tonic"], "was": _hows(each["was"]),
        "now": _hows(each["now"]),
    }  # fmt: skip
    return _("position %(position)d (%(tonic)s): %(was)s; now %(now)s") % facts


def _hows(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{count} {_HOWS[how]}" for how, count in counts.items() if count)


def _tune(each: Mapping[str, Any]) -> str:
    sign = "+" if each["by"] > 0 else "−"
    return f"{each['title']} ({sign}{_decimal(abs(each['by']), 2)})"
