"""Starting the shop: its database brought up to date, then served."""

import os
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

import django
import uvicorn
from django.core.management import call_command

_HOW: Final[Mapping[str, Any]] = MappingProxyType(
    {
        # A tablet that lies on the bench comes back to a connection that is still open.
        "timeout_keep_alive": 30,
        "timeout_graceful_shutdown": 10,
        "limit_concurrency": 500,
        "server_header": False,
    }
)


def serve_shop(host: str, port: int) -> None:
    """Bring the database up to date and serve the shop until it is stopped.

    Parameters
    ----------
    host, port : str, int
        Where to listen.
    """
    os.environ["COMBWRIGHT_SERVED_ON"] = host  # the practice shop is opened there too
    django.setup()
    call_command("migrate", verbosity=0, interactive=False)
    from combwright.shop.asgi import application
    from combwright.shop.jobs.embedded import working_inside

    with working_inside():
        uvicorn.run(application, host=host, port=port, lifespan="off", log_level="warning", **_HOW)
