"""The one place that reads the clock; everywhere else time is an argument."""

from datetime import UTC, datetime


def now() -> datetime:
    """The present moment, in UTC."""
    return datetime.now(UTC)


def to_ms(moment: datetime) -> int:
    """Whole milliseconds since the epoch; what the fold sorts by."""
    return (moment - EPOCH) // MILLISECOND


def from_ms(ms: int) -> datetime:
    """The moment of a count of milliseconds since the epoch, in UTC."""
    return EPOCH + ms * MILLISECOND


def rfc3339(moment: datetime) -> str:
    """RFC 3339 text in UTC with a `Z`, milliseconds only where there are any."""
    moment = moment.astimezone(UTC)
    spec = "milliseconds" if moment.microsecond else "seconds"
    return moment.replace(tzinfo=None).isoformat(timespec=spec) + "Z"


EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MILLISECOND = datetime(1970, 1, 1, microsecond=1000) - datetime(1970, 1, 1)
