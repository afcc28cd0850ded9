"""How far each opening is, and whether it is right."""

from inspections.models.alerts import Alert
from inspections.models.checkins import CheckIn, KeptAside
from inspections.models.checks import FrameCheck, SignOff, ToleranceProfile
from inspections.models.progress import Hold, Progress, StageStanding

__all__ = [
    "Alert",
    "CheckIn",
    "FrameCheck",
    "Hold",
    "KeptAside",
    "Progress",
    "SignOff",
    "StageStanding",
    "ToleranceProfile",
]
