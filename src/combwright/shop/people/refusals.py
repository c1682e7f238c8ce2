"""What people are told when the door, or the owner's list, says no."""

from django.utils.translation import gettext as _

from combwright.errors import CombwrightError
from combwright.shop.people.patience import in_words


class Refused(CombwrightError):
    """Something about people that cannot be done as asked."""


class Wait(Refused):
    """Too many failed tries; `seconds` says how long the next one has to wait."""

    def __init__(self, seconds: int) -> None:
        self.seconds = seconds
        super().__init__(
            _("Too many tries have failed: wait %(long)s, then try again.")
            % {"long": in_words(seconds)}
        )


class LinkRefused(Refused):
    """A one-time link that opens nothing (any more)."""
