"""Companies, people, their roles on a site, and their phones."""

from sitetrack.access.models.changes import RecordedChange
from sitetrack.access.models.devices import Device, EnrolmentCode
from sitetrack.access.models.memberships import Membership
from sitetrack.access.models.people import Company, Person

__all__ = ["Company", "Device", "EnrolmentCode", "Membership", "Person", "RecordedChange"]
