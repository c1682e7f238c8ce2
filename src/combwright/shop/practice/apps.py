"""What happens when the shop's rooms are loaded."""

import os
import signal
from threading import Thread

from django.apps import AppConfig
from django.conf import settings

_STDIN = 0


class PracticeConfig(AppConfig):
    """The room of the practice shop."""

    name = "combwright.shop.practice"

    def ready(self) -> None:
        """Have a practice shop that the real one opened end together with it."""
        # Taken out, so that its own worker does not listen too.
        if settings.PRACTICE and os.environ.pop("COMBWRIGHT_PRACTICE_CHILD", ""):
            Thread(target=_end_with_parent, name="parent", daemon=True).start()


def _end_with_parent() -> None:
    while os.read(_STDIN, 64):
        pass
    os.kill(os.getpid(), signal.SIGTERM)
