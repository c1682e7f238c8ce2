"""Everything that changes the shop's label sizes and what is remembered of them."""

from django.db import transaction

from combwright.shop.papers.models import Habit, LabelSize


@transaction.atomic
def keep_size(size: LabelSize) -> LabelSize:
    """Write down a new label size, or what was changed of one."""
    size.save()
    return size


@transaction.atomic
def remove_size(size: LabelSize) -> None:
    """Take a label size off the list; labels that are printed stay as they are."""
    size.delete()


@transaction.atomic
def remember(origin: str, size: LabelSize) -> None:
    """Remember what labels were printed with, to offer it the next time."""
    Habit.objects.update_or_create(key=1, defaults={"origin": origin, "size": size})
