"""What keeps the shop from being served with HTTPS; each can be put right by a person."""

from combwright.errors import CombwrightError


class NoHttps(CombwrightError):
    """HTTPS that cannot be served as asked."""


class BadName(NoHttps):
    """A name or address that no certificate can hold."""


class BadAuthority(NoHttps):
    """Files of the authority that are missing, damaged, or of somebody else."""


class NotVouchedFor(NoHttps):
    """A name that the authority is not allowed to vouch for."""


class WrongClock(NoHttps):
    """A clock that cannot be right."""
