"""What is kept whole beside the bins: factory sets, donor instruments, and parts.

Their ledger is the bins' own: an entry has lines for bins and lines for items, so that a set that
is opened leaves the store and arrives in its bins in one step.
"""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _


class Item(models.Model):
    """One kind of thing that is kept whole.

    A set or a donor can be opened into plates: `key` and `layout` say which, `batch` whose they
    become. A part is something that combs name in their list of parts, by `part`.
    """

    SET, DONOR, PART = "set", "donor", "part"
    KINDS: ClassVar = [(SET, _("factory set")), (DONOR, _("donor instrument")), (PART, _("part"))]

    code = models.CharField(_("name"), max_length=40, unique=True)
    kind = models.CharField(_("kind"), max_length=5, choices=KINDS, db_index=True)
    about = models.CharField(_("what it is"), max_length=200, blank=True)
    key = models.CharField(_("key"), max_length=10, blank=True)
    layout = models.CharField(_("layout"), max_length=60, blank=True)
    batch = models.ForeignKey(
        "rack.Batch", models.PROTECT, null=True, blank=True, related_name="items",
        verbose_name=_("batch"),
    )  # fmt: skip
    part = models.CharField(_("part"), max_length=40, blank=True, db_index=True)
    walk = models.CharField(_("place on the walk"), max_length=40, blank=True)
    cost = models.DecimalField(_("cost of one"), max_digits=9, decimal_places=2, default=0)
    held = models.BooleanField(_("held"), default=False)
    count = models.PositiveIntegerField(_("how many"), default=0)
    #: How many of them are set aside for orders.
    aside = models.PositiveIntegerField(_("set aside"), default=0)
    counted_at = models.DateTimeField(_("last counted"), null=True, blank=True)

    class Meta:
        """How items are listed and guarded."""

        ordering: ClassVar = ["kind", "walk", "code"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(count__gte=0), name="item_is_never_negative"),
            models.CheckConstraint(
                condition=models.Q(aside__lte=models.F("count")), name="item_has_what_is_aside"
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=["set", "donor", "part"]), name="item_has_a_kind"
            ),
            models.CheckConstraint(
                condition=models.Q(kind="part") ^ models.Q(part=""),
                name="parts_and_no_other_name_one",
            ),
        ]

    def __str__(self) -> str:
        return self.code


class ItemLine(models.Model):
    """So many of an item in, or out; `after` is how many there were then."""

    entry = models.ForeignKey("rack.Entry", models.PROTECT, related_name="item_lines")
    item = models.ForeignKey(Item, models.PROTECT, related_name="lines")
    change = models.IntegerField()
    after = models.PositiveIntegerField()

    class Meta:
        """How lines are found and guarded."""

        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [models.Index(fields=["item", "-id"])]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(after__gte=0), name="itemline_leaves_no_debt"
            ),
            models.UniqueConstraint(fields=["entry", "item"], name="entry_touches_an_item_once"),
        ]

    def __str__(self) -> str:
        return f"{self.item} {self.change:+d}"
