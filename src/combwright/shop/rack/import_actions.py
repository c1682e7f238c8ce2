"""Taking an uploaded file into the rack, and taking it back; as a whole or not at all."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final, cast

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.files.decimals import Mark
from combwright.shop.people.models import Person
from combwright.shop.rack import actions
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.imports import (
    Comparison,
    Contents,
    Difference,
    Plain,
    compare,
    measures_of,
    read_contents,
    set_measure,
)
from combwright.shop.rack.models import Batch, Bin, Entry, Upload

#: Uploads that nobody booked are thrown away after so many days, when the next one comes.
KEPT_DAYS: Final = 7
_AT_ONCE: Final = 500
_MEASURES: Final = ("millicents", "slot_um", "mount", "cost", "cut", "walk", "held")


class RackChanged(NotSo):
    """The rack is no longer what the person who books saw."""

    def __init__(self) -> None:
        super().__init__(
            _("The rack has changed since you looked at this import; see what it does now.")
        )


class BookedBefore(NotSo):
    """An upload that is in the rack already."""

    def __init__(self, number: int) -> None:
        super().__init__(_("This file was booked before, as entry %d.") % number)


@dataclass(frozen=True, slots=True)
class TakenBack:
    """The entry that undid an import, and the bins whose measures others changed since."""

    entry: Entry
    kept: tuple[str, ...]


@transaction.atomic
def keep(person: Person, name: str, data: bytes, decimal: str = "") -> Upload:
    """Keep an uploaded file until it is booked; old ones that were not booked are thrown away."""
    past = timezone.now() - timedelta(days=KEPT_DAYS)
    Upload.objects.filter(entry=None, made_at__lt=past).delete()
    return Upload.objects.create(
        made_by=person,
        name=name,
        data=data,
        sha256=hashlib.sha256(data).hexdigest(),
        decimal=decimal,
    )


def contents_of(upload: Upload) -> Contents:
    """Read a kept file again.

    Raises
    ------
    BadFile, BadTable
        As `read_contents`.
    """
    mark = cast("Mark", upload.decimal) if upload.decimal else None
    return read_contents(bytes(upload.data), upload.name, mark)


def rack_by_code(*, lock: bool = False) -> dict[str, Bin]:
    """Return the bins by their codes with their batches; locked, nobody changes them meanwhile."""
    bins = Bin.objects.select_related("batch").order_by("pk")
    if lock:
        bins = bins.select_for_update(of=("self",))
    return {each.code: each for each in bins}


def book(person: Person, upload: Upload, seen: str) -> Entry:
    """Make the rack what the file says, in one entry.

    Parameters
    ----------
    person : Person
        Who books it.
    upload : Upload
        The file.
    seen : str
        The fingerprint of the comparison that the person looked at.

    Raises
    ------
    BookedBefore
        If it was booked, by whomever.
    RackChanged
        If it would now change something else than what was looked at.
    NotSo
        If it would change nothing.
    BadTable
        If it no longer fits the rack.
    """
    try:
        with transaction.atomic():
            return _book(person, upload.pk, seen)
    except IntegrityError as error:
        # Somebody made one of its new bins in the same moment.
        raise RackChanged from error


def _book(person: Person, key: int, seen: str) -> Entry:
    upload = Upload.objects.select_for_update().get(pk=key)
    if upload.entry_id is not None:
        raise BookedBefore(upload.entry_id)
    rack = rack_by_code(lock=True)
    comparison = compare(contents_of(upload), rack)
    if comparison.fingerprint != seen:
        raise RackChanged
    if not comparison.differences:
        raise NotSo(_("The rack is as the file says already; there is nothing to book."))
    upload.earlier = _set_measures(rack, comparison)
    made = _make_bins([each for each in comparison.differences if each.key is None])
    changes = {each.key or made[each.said.code]: each.change for each in comparison.differences}
    upload.entry = actions.post(
        person, Entry.IMPORTED, changes,
        note=_("%(file)s, import %(n)d") % {"file": upload.name, "n": upload.pk},
    )  # fmt: skip
    upload.save(update_fields=["earlier", "entry"])
    return upload.entry


def _make_bins(new: Sequence[Difference]) -> dict[str, int]:
    """Make new, empty bins, and their batches where those are new; return their keys."""
    wanted = {each.said.batch for each in new}
    known = set(Batch.objects.values_list("code", flat=True))
    Batch.objects.bulk_create([Batch(code=code) for code in sorted(wanted - known)])
    batches = {each.code: each for each in Batch.objects.all() if each.code in wanted}
    bins = []
    for each in new:
        made = Bin(code=each.said.code, midi=each.said.midi, batch=batches[each.said.batch])
        for measure, value in each.said.measures.items():
            set_measure(made, measure, value)
        bins.append(made)
    Bin.objects.bulk_create(bins, _AT_ONCE)
    return {each.code: each.pk for each in bins}


def _set_measures(
    rack: Mapping[str, Bin], comparison: Comparison
) -> dict[str, dict[str, tuple[Plain, Plain]]]:
    changed = [each for each in comparison.differences if each.measures]
    for each in changed:
        for measure, (_before, after) in each.measures.items():
            set_measure(rack[each.said.code], measure, after)
    _save(rack[each.said.code] for each in changed)
    return {str(each.key): dict(each.measures) for each in changed}


def _save(bins: Iterable[Bin]) -> None:
    # All of them are there and locked, so each is a conflict and is updated: five times as fast as
    # `bulk_update`, which writes a choice for every bin and measure.
    Bin.objects.bulk_create(
        list(bins),
        _AT_ONCE,
        update_conflicts=True,
        update_fields=_MEASURES,
        unique_fields=["id"],
    )


@transaction.atomic
def take_back(person: Person, upload: Upload, *, note: str) -> TakenBack:
    """Undo an import: the counts by an opposite entry, and the measures that it changed.

    New bins stay, empty. A measure that was changed again since stays as it is. Where the counts
    were taken back on the entry's own page, the measures follow.

    Raises
    ------
    NotSo
        If it was not booked, or is taken back already.
    NotEnough
        If its plates are no longer there.
    """
    upload = Upload.objects.select_for_update().get(pk=upload.pk)
    if upload.entry is None:
        raise NotSo(_("This file was not booked; there is nothing to take back."))
    undone = upload.entry.corrections.first()
    if upload.measures_are_back or (undone and not upload.earlier):
        raise NotSo(_("This import was taken back before."))
    entry = undone or actions.take_back(person, upload.entry, note=note)
    kept = _put_measures_back(upload.earlier)
    upload.measures_are_back = True
    upload.save(update_fields=["measures_are_back"])
    return TakenBack(entry, kept)


def _put_measures_back(earlier: Mapping[str, Mapping[str, Sequence[Plain]]]) -> tuple[str, ...]:
    kept = []
    bins = Bin.objects.select_for_update().filter(pk__in=earlier).order_by("pk")
    back = {str(each.pk): each for each in bins}
    for key, measures in earlier.items():
        plate_bin = back[key]
        now = measures_of(plate_bin)
        for measure, (before, after) in measures.items():
            if now[measure] == after:
                set_measure(plate_bin, measure, before)
            else:
                kept.append(plate_bin.code)
    _save(back.values())
    return tuple(dict.fromkeys(kept))
