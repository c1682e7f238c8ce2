"""How a device comes to trust the shop's authority: one way for each system."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from django.utils.translation import gettext_noop as said


@dataclass(frozen=True, slots=True)
class Way:
    """What to do on devices of one system, once the file is there; untranslated."""

    system: str
    steps: str


#: Settings as the systems name them; their makers move them now and then.
WAYS: Final[Sequence[Way]] = (
    Way(
        "iPadOS, iOS",
        said(
            "Settings, General, VPN & Device Management: install the profile that was downloaded. "
            "Then Settings, General, About, Certificate Trust Settings: switch it on."
        ),
    ),
    Way(
        "Android",
        said(
            "Settings, search for “CA certificate” (Security, Encryption & credentials, Install a "
            "certificate): choose CA certificate, Install anyway, and the file."
        ),
    ),
    Way(
        "Windows",
        said(
            "Open the file, Install Certificate, Current User, Place all certificates in the "
            "following store: Trusted Root Certification Authorities."
        ),
    ),
    Way(
        "macOS",
        said(
            "Open the file, which adds it to Keychain Access; open it there, and under Trust "
            "choose Always Trust."
        ),
    ),
    Way(
        "Linux",
        said(
            "In the browser's settings search for “certificates”; under Authorities import the "
            "file, and trust it to identify websites."
        ),
    ),
)
#: For browsers that do not ask the system.
OWN_LIST: Final = said(
    "A browser with a list of its own has to be told in its own settings, under certificates."
)
