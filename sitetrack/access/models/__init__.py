"""Companies, people, their roles on a site, and their phones."""

from sitetrack.access.models.accounts import CodeKey, FailedTry, Invitation, RecoveryCode, SignedIn
from sitetrack.access.models.changes import RecordedChange
from sitetrack.access.models.companies import SiteCompany
from sitetrack.access.models.devices import Device, EnrolmentCode
from sitetrack.access.models.looks import Look
from sitetrack.access.models.memberships import Membership
from sitetrack.access.models.people import Company, Person

__all__ = [
    "CodeKey", "Company", "Device", "EnrolmentCode", "FailedTry", "Invitation", "Look", "Membership", "Person",
    "RecordedChange", "RecoveryCode", "SignedIn", "SiteCompany",
]  # fmt: skip
