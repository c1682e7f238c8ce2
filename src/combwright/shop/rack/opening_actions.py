"""Opening a set or a donor: it leaves the store and its plates arrive in bins, in one entry."""

from collections import Counter
from collections.abc import Mapping, Sequence

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from combwright.shop.people.models import Person
from combwright.shop.rack import actions, opening
from combwright.shop.rack.actions import NewBin, NotEnough, NotSo, Slice
from combwright.shop.rack.item_queries import last_line
from combwright.shop.rack.models import Bin, Entry, Item, ItemLine


class NoneLeft(NotSo):
    """A set or a donor of which none is left to open."""

    def __init__(self, item: Item) -> None:
        words = [_("There is no %(name)s left to open.") % {"name": item.code}]
        took = item.lines.filter(change__lt=0).select_related("entry__made_by").first()
        if took:
            words.append(
                _("%(who)s took the last, with entry %(n)d.")
                % {"who": took.entry.made_by, "n": took.entry_id}
            )
        super().__init__(" ".join(words))


class Meanwhile(NotSo):
    """Something happened to an item after its page was shown; `line` is its newest."""

    def __init__(self, line: ItemLine) -> None:
        self.line = line
        super().__init__(
            _(
                "Nothing is opened yet: since you came to this page, entry %(n)d was written by "
                "%(who)s (%(what)s, %(change)+d; %(after)d left). If you want to open another "
                "one, send this page again."
            )
            % {
                "n": line.entry_id,
                "who": line.entry.made_by,
                "what": line.entry.get_why_display(),
                "change": line.change,
                "after": line.after,
            }
        )


class _MadeMeanwhile(NotSo):
    """A bin that was not there a moment ago, and is now."""


def open_item(
    person: Person,
    item: Item,
    slices: Sequence[Slice],
    parts: Mapping[int, int] | None = None,
    *,
    note: str = "",
    seen: int | None = None,
) -> Entry:
    """Open one set or donor: its plates go into bins, existing ones or new, all in one entry.

    Parameters
    ----------
    person : Person
        Who opens it.
    item : Item
        The set or the donor.
    slices : sequence of Slice
        Its plates; one whose `whole` is 0 was lost, and its bin is not even made.
    parts : mapping of int to int, optional
        From a part's key to how many came out of a donor beside the plates.
    seen : int, optional
        The newest line of the item's ledger that the person knew of, or 0. If there is a newer
        one, nothing is done: a page that is sent twice does not open two.

    Raises
    ------
    NoneLeft
        If there is none left.
    Meanwhile
        If there is a newer line than `seen`.
    NotSo
        If the item is held or cannot be opened, if a plate is not one of its own, or if a bin
        holds other plates than those.
    """
    for again in (True, False):
        try:
            with transaction.atomic():
                return _open(person, item, slices, parts or {}, note, seen)
        except (IntegrityError, _MadeMeanwhile) as error:
            # Somebody made one of its bins in the same moment; by now it is there.
            if not again:
                raise NotSo(_("Somebody changes the same bins just now; try again.")) from error
    raise AssertionError


def _open(
    person: Person,
    item: Item,
    slices: Sequence[Slice],
    parts: Mapping[int, int],
    note: str,
    seen: int | None,
) -> Entry:
    _check_plates(item, slices)
    _check_parts(item, parts)
    changes = _bins_for(item, [each.bin for each in slices if each.whole])
    try:
        # This locks the bins, then the items: what is read of the item after it stays so.
        entry = actions.post(person, Entry.OPENED, changes, items={**parts, item.pk: -1}, note=note)
    except NotEnough as error:
        raise NoneLeft(item) from error
    if Item.objects.get(pk=item.pk).held:
        raise NotSo(_("%(name)s is held; release it before it is opened.") % {"name": item.code})
    newest = last_line(item, before=entry)
    if seen is not None and newest and newest.pk != seen:
        raise Meanwhile(newest)
    return entry


def _check_plates(item: Item, slices: Sequence[Slice]) -> None:
    if item.kind not in {Item.SET, Item.DONOR}:
        raise NotSo(_("%(name)s is a part; there are no plates in it.") % {"name": item.code})
    if any(each.whole not in {0, 1} for each in slices):
        raise NotSo(_("Of each plate there is one in %(name)s.") % {"name": item.code})
    there = Counter(seat.midi for seat in opening.seats_of(item))
    if more := Counter(each.bin.midi for each in slices) - there:
        note = Bin(midi=next(iter(more))).note
        raise NotSo(
            _("%(name)s has no %(note)s, or not so many of it.") % {"name": item.code, "note": note}
        )


def _check_parts(item: Item, parts: Mapping[int, int]) -> None:
    if any(many < 1 for many in parts.values()):
        raise NotSo(_("Of a part that came out of it there is 1 or more."))
    allowed = opening.parts_for(item).filter(pk__in=parts).count()
    if allowed < len(parts):
        raise NotSo(
            _("What comes out of %(name)s beside its plates goes to parts, and to nothing else.")
            % {"name": item.code}
        )


def _bins_for(item: Item, plates: Sequence[NewBin]) -> dict[int, int]:
    """Return one plate more for each bin; those that are not there are made."""
    batch = item.batch.code if item.batch else ""
    codes = [each.code for each in plates]
    if twice := [code for code, n in Counter(codes).items() if n > 1]:
        raise NotSo(_("Bin %(bin)s is named twice; give each plate its own.") % {"bin": twice[0]})
    known = {b.code: b for b in Bin.objects.select_related("batch").filter(code__in=codes)}
    changes = {}
    for each in plates:
        there = known.get(each.code)
        if there:
            actions.check_same(there, each, batch)
        changes[(there or _made(each, batch)).pk] = 1
    return changes


def _made(new: NewBin, batch: str) -> Bin:
    try:
        return actions.make_bin(new, batch)
    except NotSo as error:
        raise _MadeMeanwhile(str(error)) from error
