"""How a device comes to trust the shop: the authority's certificate, and what to do with it.

Open to everybody: it comes before the log-in, and holds nothing that a connection does not tell.
"""

from pathlib import Path
from typing import Final

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from combwright.shop.https.authority import allowed_addresses, allowed_names, fingerprint
from combwright.shop.https.faults import BadAuthority
from combwright.shop.https.folder import certificate_in
from combwright.shop.https.trusting import OWN_LIST, WAYS

#: By this type devices know a certificate that somebody wants to trust.
_TYPE: Final = "application/x-x509-ca-cert"


def _certificate() -> x509.Certificate:
    folder: Path | None = settings.AUTHORITY
    if folder is None:
        raise Http404
    try:
        return certificate_in(folder)
    except BadAuthority as error:  # somebody took it away while the shop is open
        raise Http404 from error


@require_safe
def trust(request: HttpRequest) -> HttpResponse:
    """Show how to trust the shop; there is no such page where it is served without HTTPS."""
    certificate = _certificate()
    context = {
        "pairs": fingerprint(certificate).split(":"),
        "names": allowed_names(certificate),
        "addresses": allowed_addresses(certificate),
        "until": certificate.not_valid_after_utc,
        "ways": WAYS,
        "own_list": OWN_LIST,
    }
    return render(request, "people/trust.html", context)


@require_safe
def authority(_request: HttpRequest) -> HttpResponse:
    """Give the certificate. No attachment: some devices offer to install only what they open."""
    return HttpResponse(_certificate().public_bytes(Encoding.DER), content_type=_TYPE)
