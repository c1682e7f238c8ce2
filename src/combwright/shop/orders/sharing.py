"""Links for customers: made, withdrawn, looked at, and said yes on.

Only the digest of a link's token is kept, as with links that let people in.
"""

import secrets
from datetime import timedelta
from typing import Final

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.orders.actions import ChangedMeanwhile, NotSo, locked, tell
from combwright.shop.orders.models import Order, Share
from combwright.shop.orders.queries import changed_since_yes, shown_mark
from combwright.shop.orders.states import State
from combwright.shop.people.models import Link, Person

MOST_DAYS: Final = 90


class LinkIsOver(NotSo):
    """A customer's link that shows nothing (any more)."""


class NoSuchLink(LinkIsOver):
    """A token that is none of ours."""

    def __init__(self) -> None:
        super().__init__(
            _("This link opens nothing. Perhaps it is not whole: copy it once more from the "
              "message that it came in, or ask the workshop.")
        )  # fmt: skip


@transaction.atomic
def make_share(order: Order, person: Person, days: int) -> str:
    """Make a link to an order for its customer; return its token, which is kept nowhere.

    Raises
    ------
    NotSo
        If the order is cancelled or empty, or the days are too many.
    """
    there = locked(order)
    if there.state == State.CANCELLED:
        raise NotSo(_("Order %s is cancelled; there is nothing to show.") % there.number)
    if not there.wishes.exists():
        raise NotSo(_("Order %s is empty; add an instrument or loose plates.") % there.number)
    if not 1 <= days <= MOST_DAYS:
        raise NotSo(_("A link is good for 1 to %d days.") % MOST_DAYS)
    token = secrets.token_urlsafe(32)
    Share.objects.create(
        order=there, digest=Link.digest_of(token), made_by=person,
        expires_at=timezone.now() + timedelta(days=days),
    )  # fmt: skip
    tell(there, person, _("a link for the customer made, good for %d days") % days)
    return token


@transaction.atomic
def withdraw_share(share: Share, person: Person) -> None:
    """Let a link show nothing any more; a yes that was said on it stays."""
    there = Share.objects.select_for_update().get(pk=share.pk)
    if there.withdrawn_at is None:
        there.withdrawn_at = timezone.now()
        there.save(update_fields=["withdrawn_at"])
        tell(there.order, person, _("a link for the customer withdrawn"))


def opened(token: str) -> Share:
    """Return the link that a token opens, with its order.

    Raises
    ------
    LinkIsOver
        If it was withdrawn or its time is over; `NoSuchLink` if there is none.
    """
    found = Share.objects.select_related("order").filter(digest=Link.digest_of(token)).first()
    if found is None:
        raise NoSuchLink
    if found.withdrawn_at is not None:
        raise LinkIsOver(_("The workshop has withdrawn this link; ask it for a new one."))
    if found.expires_at <= timezone.now():
        raise LinkIsOver(_("This link's time is over; ask the workshop for a new one."))
    return found


@transaction.atomic
def say_yes(token: str, *, seen: str, name: str, words: str) -> Share:
    """Write down that the customer agrees to the order as they saw it, once until it is changed.

    `seen` is the mark of what they saw.

    Raises
    ------
    NotSo
        If they have said yes to it as it is, or it is cancelled or sent.
    ChangedMeanwhile
        If it is another one than they saw.
    LinkIsOver
        As `opened`.
    """
    order = locked(opened(token).order)
    share = Share.objects.select_for_update().get(pk=opened(token).pk)
    if order.state in (State.CANCELLED, State.SENT):
        raise NotSo(_("This order is %s; nothing is left to agree on.") % order.get_state_display())
    if (mark := shown_mark(order)) != seen:
        raise ChangedMeanwhile(order.number)
    if share.yes_at is not None and not changed_since_yes(share, order):
        raise NotSo(_("You have said yes to this already."))
    share.yes_mark, share.yes_at = mark, timezone.now()
    share.yes_name, share.yes_words = name, words
    share.save(update_fields=["yes_mark", "yes_at", "yes_name", "yes_words"])
    # Without the name: a timeline stays when the customer's data are erased.
    tell(order, None, _("the customer said yes on their link"))
    return share
