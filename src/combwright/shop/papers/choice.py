"""Which things labels are made for, and what each label says."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Final, TypeVar

from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from combwright.errors import CombwrightError
from combwright.sheets.tags import Tag
from combwright.shop.papers.written import BATCH, BIN, PLATE, address, mark
from combwright.shop.rack.models import Batch, Bin, Entry, Line, Plate

#: More in one file no printer takes at once, and nobody would wait for.
MOST_LABELS: Final = 1000


Row = TypeVar("Row", Bin, Batch, Plate)


class BadChoice(CombwrightError):
    """A choice that labels cannot be made for."""


@dataclass(frozen=True, slots=True)
class Choice:
    """Which things to make labels for; empty fields choose everything of the kind.

    Parameters
    ----------
    letter : str
        The kind: bins, batches or plates.
    text : str
        Part of a code, a place or a batch.
    batch : str
        A batch's code.
    since : date or None
        Of bins, those that something came into or went out of since; of plates, those labelled
        since.
    codes : tuple of str
        Picked by hand; then nothing else counts.
    """

    letter: str = BIN
    text: str = ""
    batch: str = ""
    since: date | None = None
    codes: tuple[str, ...] = ()


def chosen(choice: Choice) -> Sequence[Bin] | Sequence[Batch] | Sequence[Plate]:
    """Return the things that a choice names, in the order in which labels are printed.

    Raises
    ------
    BadChoice
        If a code picked by hand names nothing, or there are more than one file may hold.
    """
    if choice.letter == BATCH:
        return _found(_batches(choice), choice)
    if choice.letter == PLATE:
        return _found(_plates(choice), choice)
    return _found(_bins(choice), choice)


def _found(rows: QuerySet[Row], choice: Choice) -> list[Row]:
    if choice.codes:
        return _picked(rows, choice.codes)
    found = list(rows[: MOST_LABELS + 1])
    if len(found) > MOST_LABELS:
        raise BadChoice(
            _("These are more than %(most)d labels; choose a place, a batch or a day.")
            % {"most": MOST_LABELS}
        )
    return found


def _bins(choice: Choice) -> QuerySet[Bin]:
    rows = Bin.objects.select_related("batch")
    if choice.codes:
        return rows.filter(code__in=choice.codes)
    if choice.text:
        rows = rows.filter(
            Q(code__icontains=choice.text)
            | Q(walk__icontains=choice.text)
            | Q(batch__code__icontains=choice.text)
        )
    if choice.batch:
        rows = rows.filter(batch__code=choice.batch)
    return rows.filter(pk__in=_touched(choice.since)) if choice.since else rows


def _touched(since: date) -> QuerySet[Line, int]:
    """Give the bins of every line since a day: found by the first entry, not by reading dates."""
    first = Entry.objects.filter(made_at__gte=_midnight(since)).order_by("made_at")
    number = first.values_list("pk", flat=True).first()
    lines = Line.objects.filter(entry_id__gte=number) if number else Line.objects.none()
    return lines.values_list("bin_id", flat=True)


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


def _batches(choice: Choice) -> QuerySet[Batch]:
    if choice.codes:
        return Batch.objects.filter(code__in=choice.codes)
    rows = Batch.objects.filter(Q(code__icontains=choice.text) | Q(about__icontains=choice.text))
    return rows.filter(code=choice.batch) if choice.batch else rows


def _plates(choice: Choice) -> QuerySet[Plate]:
    rows = Plate.objects.select_related("batch", "bin")
    if choice.codes:
        return rows.filter(code__in=choice.codes)
    rows = rows.filter(bin__isnull=False)
    if choice.text:
        rows = rows.filter(
            Q(code__icontains=choice.text)
            | Q(bin__code__icontains=choice.text)
            | Q(bin__walk__icontains=choice.text)
        )
    if choice.batch:
        rows = rows.filter(batch__code=choice.batch)
    return rows.filter(made_at__gte=_midnight(choice.since)) if choice.since else rows


def _picked(rows: QuerySet[Row], codes: Sequence[str]) -> list[Row]:
    found = {row.code: row for row in rows}
    missing = [code for code in codes if code not in found]
    if missing:
        raise BadChoice(
            _("Nothing of this kind is called %(names)s; mend the list.")
            % {"names": ", ".join(f"“{code}”" for code in missing[:5])}
        )
    return [found[code] for code in codes]


def tags(things: Sequence[Bin] | Sequence[Batch] | Sequence[Plate], origin: str) -> list[Tag]:
    """Return what the labels of things say; without an origin their codes hold short marks."""
    return [_tag(thing, origin) for thing in things]


def _tag(thing: Bin | Batch | Plate, origin: str) -> Tag:
    if isinstance(thing, Bin):
        return Tag(thing.code, _holds(BIN, thing.code, origin), _bin_head(thing), _bin_lines(thing))
    if isinstance(thing, Batch):
        return Tag(thing.code, _holds(BATCH, thing.code, origin), _("batch"), (thing.about,))
    head = thing.note if thing.cents is None else f"{thing.note} {_cents(thing.cents)}"
    lines = (_slot_and_mount(thing), _("batch %s") % thing.batch.code)
    return Tag(thing.code, _holds(PLATE, thing.code, origin), head, lines)


def _holds(letter: str, code: str, origin: str) -> tuple[str, ...]:
    short = mark(letter, code)
    return (address(origin, letter, code), short) if origin else (short,)


def _bin_head(thing: Bin) -> str:
    return f"{thing.note} {_cents(thing.cents)}" if thing.millicents else thing.note


def _bin_lines(thing: Bin) -> tuple[str, ...]:
    place = _("place %s") % thing.walk if thing.walk and thing.walk != thing.code else ""
    return (_slot_and_mount(thing), _("batch %s") % thing.batch.code, place)


def _slot_and_mount(thing: Bin | Plate) -> str:
    slot = number_format(thing.slot_um / 1000, decimal_pos=2)
    ends = {"front": _("front mount"), "rear": _("rear mount")}
    return _("slot %(mm)s mm, %(mount)s") % {"mm": slot, "mount": ends.get(thing.mount, "")}


def _cents(cents: float) -> str:
    sign = "+" if cents > 0 else "−"
    return _("%(cents)s cents") % {"cents": sign + number_format(abs(cents), decimal_pos=1)}
