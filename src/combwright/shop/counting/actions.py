"""Everything that changes a counting round: starting, counting, skipping, booking, giving up.

A round is locked first, then its bins in the order of their keys, so that two who count and one
who books wait for one another and never for ever.
"""

from collections.abc import Mapping, Sequence
from typing import Final

from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.shop.counting import queries
from combwright.shop.counting.models import Ask, Bookmark, LastCount, Round
from combwright.shop.counting.proposals import propose
from combwright.shop.counting.queries import Scope
from combwright.shop.people.models import Person
from combwright.shop.rack import actions as rack
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Bin, Entry, Line

#: Entries that others were still writing when the ledger was read last are read again.
_OVERLAP: Final = 1_000


class RoundClosed(NotSo):
    """A round that was booked or given up."""

    def __init__(self, round_: Round) -> None:
        if round_.entry_id is None:
            text = _("This round was given up; start another one.")
        else:
            text = _("This round was booked before, as entry %d.") % round_.entry_id
        super().__init__(text)


class CountedMeanwhile(NotSo):
    """Somebody else counted the bin while this person did."""

    def __init__(self, ask: Ask) -> None:
        self.ask = ask
        super().__init__(
            _("%(who)s counted bin %(bin)s meanwhile, and found %(found)s.")
            % {"who": ask.counted_by, "bin": ask.bin.code, "found": ask.found}
        )


class MovedMeanwhile(NotSo):
    """Plates came into the bin, or left it, while it was being counted."""

    def __init__(self, ask: Ask, lines: Sequence[Line]) -> None:
        self.lines = lines
        super().__init__(
            _("Plates of bin %(bin)s were booked while you counted it.") % {"bin": ask.bin.code}
        )


@transaction.atomic
def start(
    person: Person,
    most: int,
    scope: Scope,
    *,
    note: str = "",
    needed: Mapping[int, int] | None = None,
) -> Round:
    """Start a round: the bins whose count is doubted most, along the walk.

    Raises
    ------
    NotSo
        If there is no bin to count.
    """
    _read_counts()
    candidates = queries.candidates(scope)
    proposed = propose(candidates, now=timezone.now(), most=most, needed=needed)
    if not proposed:
        raise NotSo(
            _("There is no bin to count: all like that agreed within a week or are in a round.")
        )
    made = Round.objects.create(made_by=person, note=note)
    Ask.objects.bulk_create(
        Ask(round=made, bin_id=each.bin.key, place=place, why=each.why)
        for place, each in enumerate(proposed, start=1)
    )
    return made


def _read_counts() -> None:
    """Learn what counts outside of rounds said, reading only the ledger's new part."""
    mark, _made = Bookmark.objects.select_for_update().get_or_create(pk=1)
    newest = Entry.objects.aggregate(newest=Max("pk", default=0))["newest"]
    counted = Entry.objects.filter(pk__gt=mark.entry - _OVERLAP, why=Entry.COUNTED)
    lines = Line.objects.filter(entry__in=counted).order_by("pk")
    last = {bin_: (change, entry) for bin_, change, entry in lines.values_list(
        "bin_id", "change", "entry_id"
    )}  # fmt: skip
    LastCount.objects.bulk_create(
        [LastCount(bin_id=b, change=change, entry_id=e) for b, (change, e) in last.items()],
        500,
        update_conflicts=True,
        update_fields=["change", "entry"],
        unique_fields=["bin"],
    )
    mark.entry = newest
    mark.save()


@transaction.atomic
def count(
    person: Person, ask: Ask, found: int, *, seen: str, line_seen: int, sure: bool = False
) -> Ask:
    """Write down how many plates were found in a bin of a round; saved at once.

    Parameters
    ----------
    person : Person
        Who counted.
    ask : Ask
        The bin of the round.
    found : int
        Plates found.
    seen : str
        The ask's `state` when the person began: it tells whether somebody else counted since.
    line_seen : int
        The bin's newest ledger line when the person began.
    sure : bool
        Write it down whatever happened meanwhile.

    Raises
    ------
    CountedMeanwhile
        If somebody else counted it and found another number.
    MovedMeanwhile
        If the ledger of the bin changed while it was being counted.
    RoundClosed
        If the round is closed.
    NotSo
        If the number is below 0.
    """
    if found < 0:
        raise NotSo(_("A count of %d cannot be; 0 is the least.") % found)
    _locked(ask.round_id)
    ask = Ask.objects.select_for_update(of=("self",)).select_related("bin", "counted_by").get(
        pk=ask.pk
    )  # fmt: skip
    held = Bin.objects.select_for_update().get(pk=ask.bin_id).count
    if not sure:
        if ask.state != seen and ask.found is not None and ask.found != found:
            raise CountedMeanwhile(ask)
        if lines := queries.lines_since(ask.bin_id, line_seen):
            raise MovedMeanwhile(ask, lines)
        if ask.state != seen and ask.found == found:
            return ask
    _keep_earlier(ask)
    ask.found, ask.held_then = found, held
    ask.line_then = queries.newest_line(ask.bin_id)
    ask.counted_by, ask.counted_at = person, timezone.now()
    ask.skipped = False
    ask.save()
    return ask


def _keep_earlier(ask: Ask) -> None:
    if ask.found is not None and ask.counted_at is not None:
        ask.recounts += 1
        ask.earlier = [
            *ask.earlier,
            {
                "found": ask.found,
                "held": ask.held_then,
                "by": str(ask.counted_by),
                "at": ask.counted_at.isoformat(),
            },
        ]


@transaction.atomic
def skip(ask: Ask) -> None:
    """Leave a bin for the end of the round.

    Raises
    ------
    RoundClosed
        If the round is closed.
    """
    _locked(ask.round_id)
    Ask.objects.filter(pk=ask.pk, found=None).update(skipped=True)


@transaction.atomic
def unskip(round_: Round) -> int:
    """Ask for the skipped bins after all; return how many there are.

    Raises
    ------
    RoundClosed
        If the round is closed.
    """
    _locked(round_.pk)
    return Ask.objects.filter(round=round_, found=None, skipped=True).update(skipped=False)


@transaction.atomic
def ask_again(round_: Round, keys: Sequence[int]) -> int:
    """Have some bins of a round counted again; what was counted is kept beside.

    Raises
    ------
    RoundClosed
        If the round is closed.
    NotSo
        If none of them was counted.
    """
    _locked(round_.pk)
    asks = Ask.objects.select_for_update(of=("self",)).select_related("counted_by").filter(
        round=round_, pk__in=keys, found__isnull=False
    )  # fmt: skip
    again = list(asks.order_by("pk"))
    if not again:
        raise NotSo(_("Tick the bins to be counted again; none that was counted is ticked."))
    for ask in again:
        _keep_earlier(ask)
        ask.found = ask.held_then = ask.counted_by = ask.counted_at = None
        ask.skipped = False
    fields = ["found", "held_then", "counted_by", "counted_at", "skipped", "recounts", "earlier"]
    Ask.objects.bulk_update(again, fields)
    return len(again)


@transaction.atomic
def book(person: Person, round_: Round) -> Entry:
    """Book what a round found, as one entry; bins that were not counted are left as they are.

    Each bin changes by what was found more or fewer than the ledger said in the moment of the
    count, so that plates moved since stay where they were moved to.

    Raises
    ------
    RoundClosed
        If it was booked or given up, by whomever.
    NotSo
        If nothing was counted, a bin was set right since it was counted, or a bin would hold less
        than nothing.
    """
    round_ = _locked(round_.pk)
    asks = {each.bin_id: each for each in round_.asks.filter(found__isnull=False)}
    if not asks:
        raise NotSo(_("No bin of this round is counted yet; there is nothing to book."))
    bins = list(Bin.objects.select_for_update().filter(pk__in=asks).order_by("pk"))
    _check_not_settled(asks)
    changes = {key: ask.difference or 0 for key, ask in asks.items()}
    _check_not_negative(bins, changes)
    note = _("counting round %d") % round_.pk
    entry = rack.post(
        person, Entry.COUNTED, changes, note=f"{note}: {round_.note}" if round_.note else note
    )
    for each in bins:
        each.counted_at = max(filter(None, (asks[each.pk].counted_at, each.counted_at)))
    Bin.objects.bulk_update(bins, ["counted_at"])
    _remember(entry, changes)
    round_.entry = entry
    _close(person, round_)
    return entry


def _check_not_settled(asks: Mapping[int, Ask]) -> None:
    """Refuse where a count, import or correction since has put a bin right already."""
    since = min(each.line_then for each in asks.values())
    lines = Line.objects.filter(
        bin_id__in=asks, pk__gt=since, entry__why__in=queries.SETTLING
    ).exclude(change=0)
    settled = sorted(
        {
            line.bin.code
            for line in lines.select_related("bin")
            if line.pk > asks[line.bin_id].line_then
        }
    )
    if settled:
        raise NotSo(
            ngettext(
                "Bin %(bins)s was counted, imported or corrected again since this round counted "
                "it; have it counted again first. Nothing is booked.",
                "Bins %(bins)s were counted, imported or corrected again since this round counted "
                "them; have them counted again first. Nothing is booked.",
                len(settled),
            )
            % {"bins": ", ".join(settled)}
        )


def _check_not_negative(bins: Sequence[Bin], changes: Mapping[int, int]) -> None:
    for each in bins:
        if each.count + changes[each.pk] < 0:
            raise NotSo(
                _(
                    "Bin %(bin)s holds %(held)d by now, and the count found %(fewer)d fewer than "
                    "there should have been; have it counted again. Nothing is booked."
                )
                % {"bin": each.code, "held": each.count, "fewer": -changes[each.pk]}
            )


def _remember(entry: Entry, changes: Mapping[int, int]) -> None:
    LastCount.objects.bulk_create(
        [LastCount(bin_id=key, change=change, entry=entry) for key, change in changes.items()],
        update_conflicts=True,
        update_fields=["change", "entry"],
        unique_fields=["bin"],
    )


@transaction.atomic
def give_up(person: Person, round_: Round) -> None:
    """End a round without booking anything; its counts stay to be looked at.

    Raises
    ------
    RoundClosed
        If it is closed already.
    """
    _close(person, _locked(round_.pk))


def _close(person: Person, round_: Round) -> None:
    round_.closed_at, round_.closed_by = timezone.now(), person
    round_.save(update_fields=["entry", "closed_at", "closed_by"])


def _locked(key: int) -> Round:
    round_ = Round.objects.select_for_update().get(pk=key)
    if not round_.open:
        raise RoundClosed(round_)
    return round_
