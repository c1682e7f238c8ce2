"""Starting the shop: its database brought up to date, then served."""

import django
import uvicorn
from django.core.management import call_command


def serve_shop(host: str, port: int) -> None:
    """Bring the database up to date and serve the shop until it is stopped.

    Parameters
    ----------
    host, port : str, int
        Where to listen.
    """
    django.setup()
    call_command("migrate", verbosity=0, interactive=False)
    from combwright.shop.asgi import application

    uvicorn.run(application, host=host, port=port, lifespan="off", log_level="warning")
