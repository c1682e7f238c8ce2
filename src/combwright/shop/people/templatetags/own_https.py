"""Whether the shop speaks HTTPS itself: then its devices have to be told to trust it."""

from django.conf import settings
from django.template import Library

register = Library()


@register.simple_tag
def own_https() -> bool:
    """Say whether there is an authority of the workshop's own."""
    return settings.AUTHORITY is not None
