"""The shop as an ASGI application."""

import os

from django.conf import settings
from django.core.asgi import get_asgi_application

from combwright.shop.look.bodies import bounded

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "combwright.shop.settings")

application = bounded(get_asgi_application(), settings.MOST_BODY)
