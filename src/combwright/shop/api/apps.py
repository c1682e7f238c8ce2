"""What happens when the shop's rooms are loaded."""

from django.apps import AppConfig


class ApiConfig(AppConfig):
    """The room for other programs."""

    name = "combwright.shop.api"

    def ready(self) -> None:
        """Hear of every step of an order, to tell the programs that want to know."""
        from combwright.shop.api import forgetting, outbox  # noqa: F401 - register themselves
