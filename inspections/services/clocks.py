"""Phones' clocks: corrected once, at first receipt, and flagged where they can't be trusted."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sitetrack.access.models import Device
from sitetrack.kit.clock import MILLISECOND

LEAST_UNCERTAINTY = timedelta(seconds=2)
DRIFT = 1e-4  # share of a report's age; a phone's quartz keeps far better time, its owner may not
JUMP = timedelta(seconds=60)


@dataclass(frozen=True, slots=True)
class Clock:
    """How one batch's clock stands to the server's: `offset` is to be added to the phone's times."""

    offset: timedelta
    now: datetime
    flag: str = ""

    def corrected(self, happened_at: datetime) -> datetime:
        """The moment by the server's clock, never later than receipt."""
        return min(happened_at + self.offset, self.now)

    def uncertainty_ms(self, corrected: datetime) -> int:
        """How far a corrected moment may be off, in milliseconds: 2 s and a ten-thousandth of its age."""
        return (LEAST_UNCERTAINTY + (self.now - corrected) * DRIFT) // MILLISECOND

    def flag_of(self, happened_at: datetime) -> str:
        """Why this report's time is doubted, or nothing."""
        if happened_at + self.offset > self.now + JUMP:
            return "ahead of receipt"
        return self.flag


def read_clock(device: Device | None, device_time: datetime | None, now: datetime) -> Clock:
    """The clock of a batch received now; flagged when it jumped since the device's last batch."""
    offset = now - device_time if device_time else timedelta(0)
    if device is None or device.clock_offset_ms is None or device_time is None:
        return Clock(offset, now)
    moved = abs(offset - timedelta(milliseconds=device.clock_offset_ms))
    since = now - (device.clock_read_at or now)
    jumped = moved > JUMP + since * DRIFT
    return Clock(offset, now, "clock jumped" if jumped else "")
