"""What happens when the shop's rooms are loaded."""

from django.apps import AppConfig
from django.db.models.signals import pre_migrate


class BackupsConfig(AppConfig):
    """The room of backups."""

    name = "combwright.shop.backups"

    def ready(self) -> None:
        """Have every start see whether an old database may be written to again.

        And have the day's page say when a backup is overdue.
        """
        from combwright.shop.backups import overdue  # noqa: F401 - registers itself
        from combwright.shop.backups.moving import take_rows_again

        pre_migrate.connect(take_rows_again, sender=self)
