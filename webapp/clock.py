"""The server's clock, in one place so that a test can set it."""

from datetime import UTC, datetime


def now() -> datetime:
    """This moment, in UTC."""
    return datetime.now(UTC)
