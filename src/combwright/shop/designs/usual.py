"""What changes for the rack when another comb becomes the usual one, or the usual one changes."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from combwright.comb.combs import Comb
from combwright.comb.seats import DECKS
from combwright.shop.designs.numbers import shown


@dataclass(frozen=True, slots=True)
class Consequences:
    """What a change of the usual comb does, one line each; `seal` tells these from any others."""

    lines: tuple[str, ...]

    def __bool__(self) -> bool:
        return bool(self.lines)

    @property
    def seal(self) -> str:
        """What stands for having read exactly these lines."""
        return hashlib.sha256("\n".join(self.lines).encode()).hexdigest()[:32]


def consequences(before: Comb, after: Comb) -> Consequences:
    """Say which holes take other plates from then on, and which decks accept other mounts."""
    return Consequences((*_holes(before, after), *_decks(before, after)))


def _holes(before: Comb, after: Comb) -> Iterator[str]:
    for hole in range(1, max(before.holes, after.holes) + 1):
        was = before.takes_mm(hole) if hole <= before.holes else None
        is_now = after.takes_mm(hole) if hole <= after.holes else None
        said = {"hole": hole, "was": shown(was), "now": shown(is_now)}
        if was is None:
            yield _("Hole %(hole)d is new; it takes slots of up to %(now)s mm.") % said
        elif is_now is None:
            yield _("Hole %(hole)d goes; it took slots of up to %(was)s mm.") % said
        elif was != is_now:
            yield (
                _("Hole %(hole)d takes slots of up to %(now)s mm; until now up to %(was)s mm.")
                % said
            )


def _decks(before: Comb, after: Comb) -> Iterator[str]:
    names = {"upper": _("upper deck"), "lower": _("lower deck")}
    mounts = {"any": _("either end"), "front": _("the front"), "rear": _("the rear")}
    for deck in DECKS:
        was, is_now = before.deck(deck).mount, after.deck(deck).mount
        if was != is_now:
            said = {"deck": names[deck], "was": mounts[was], "now": mounts[is_now]}
            yield (_("The %(deck)s takes plates mounted at %(now)s; until now at %(was)s.") % said)
