"""What stands on the house's page: the rooms that are entered now and then, not every day."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.urls import NoReverseMatch, reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True, slots=True)
class Door:
    """A room behind the house's page.

    Parameters
    ----------
    name : str
        Of its address.
    label, about : str
        What it is called, and what is done there.
    right : str
        The right that opens it, as templates know rights; empty for everybody.
    """

    name: str
    label: str | Promise
    about: str | Promise
    right: str = ""

    @property
    def address(self) -> str:
        """Where it is; empty when the room is not built in."""
        try:
            return reverse(self.name)
        except NoReverseMatch:
            return ""


DOORS: Final[Sequence[Door]] = (
    Door("orders:customers", _("Customers"), _("Their orders, and their data."), "look"),
    Door("register:list", _("Instruments"), _("Every one that was built, and its plates.")),
    Door("orders:nicknames", _("Nicknames"), _("What people here call a layout.")),
    Door("api:hooks", _("Told programs"), _("Programs that hear of orders."), "connect"),
    Door("rack:ledger", _("Ledger"), _("Everything that was done, newest first."), "look"),
    Door("rack:batches", _("Batches"), _("Plates that came together; hold one, trace one.")),
    Door("designs:list", _("Designs"), _("Layouts, combs and the workshop's numbers.")),
    Door("papers:labels", _("Labels"), _("For bins, batches and single plates.")),
    Door("arrivals:list", _("Samples"), _("Measure a sample of what arrived; accept or hold.")),
    Door("rack:imports", _("Files taken in"), _("Take a rack in from a file."), "import"),
    Door("rack:export", _("Files to take away"), _("Everything as CSV and XLSX."), "look"),
    Door("papers:sizes", _("Label sizes"), _("Sheets and rolls that you print on."), "look"),
    Door("jobs:list", _("Jobs"), _("Work that takes its time, and how far it is.")),
    Door("practice:home", _("Practice shop"), _("A copy to learn on; nothing there is real.")),
    Door("people:list", _("People"), _("Who is let in, and what each may do."), "people"),
    Door("people:roles", _("Roles"), _("What each role may do.")),
    Door("api:home", _("Other programs"), _("What programs can ask of the shop.")),
    Door("api:tokens", _("Tokens"), _("Let a program in, or shut it out."), "connect"),
    Door("backups:list", _("Backups"), _("Make one, check one, keep them coming."), "backup"),
    Door("look:parts", _("All parts of these pages"), _("For those who build on them.")),
)


def doors(may: Mapping[str, bool]) -> list[Door]:
    """Return the doors that are built in and that somebody with these rights may open."""
    return [each for each in DOORS if (not each.right or may.get(each.right)) and each.address]
