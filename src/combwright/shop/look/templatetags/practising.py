"""Whether this is the practice shop: asked by every page, so that none is taken for a real one."""

from django.conf import settings
from django.template import Library

register = Library()


@register.simple_tag
def practising() -> bool:
    """Say whether this is the practice shop."""
    return bool(getattr(settings, "PRACTICE", False))
