"""What a page may load: only what the shop itself sends, and no script or style inside a page."""

from collections.abc import Callable
from typing import Final

from django.http import HttpRequest, HttpResponse

POLICY: Final = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)

#: What no page may use; the page that scans lifts the ban on the camera for itself.
ABILITIES: Final = "camera=(), microphone=(), geolocation=()"

Answer = Callable[[HttpRequest], HttpResponse]


def content_security_policy(get_response: Answer) -> Answer:
    """Send the policy with every page."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers.setdefault("Permissions-Policy", ABILITIES)
        return response

    return answer
