"""What was changed of a bin or an item beside its count: who, when, and what it was before.

Counts are changed by the ledger alone. Everything else that a holder says of itself (its place, its
cost, its measures) is changed in place, and each time one of these rows says what stood there.
"""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class Change(models.Model):
    """One change of a bin's or an item's own facts; a row is never changed itself.

    `facts` goes from a field's name to its value before and after, in plain values: a batch by its
    name, money as text.
    """

    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="changes")
    bin = models.ForeignKey(
        "rack.Bin", models.PROTECT, null=True, blank=True, related_name="changes"
    )
    item = models.ForeignKey(
        "rack.Item", models.PROTECT, null=True, blank=True, related_name="changes"
    )
    facts = models.JSONField(_("what changed"))
    note = models.CharField(_("why"), max_length=300, blank=True)

    class Meta:
        """How changes are listed and guarded."""

        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(bin__isnull=True) ^ models.Q(item__isnull=True),
                name="change_is_of_a_bin_or_of_an_item",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.bin or self.item}: {', '.join(self.facts)}"
