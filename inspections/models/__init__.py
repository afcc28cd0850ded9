"""How far each opening is, and whether it is right."""

from inspections.models.alerts import Alert
from inspections.models.checkins import CheckIn, KeptAside
from inspections.models.checks import FrameCheck, SignOff, ToleranceProfile
from inspections.models.photos import CheckInPhoto, Photo
from inspections.models.progress import Hold, Progress, StageStanding
from inspections.models.records import SealedEntry
from inspections.models.signing import WrongSigningCode

__all__ = [
    "Alert",
    "CheckIn",
    "CheckInPhoto",
    "FrameCheck",
    "Hold",
    "KeptAside",
    "Photo",
    "Progress",
    "SealedEntry",
    "SignOff",
    "StageStanding",
    "ToleranceProfile",
    "WrongSigningCode",
]
