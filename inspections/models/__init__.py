"""How far each opening is, and whether it is right."""

from inspections.models.alerts import Alert
from inspections.models.checkins import CheckIn, KeptAside
from inspections.models.checks import FrameCheck, SignOff, ToleranceProfile
from inspections.models.mails import Mail, MailWish
from inspections.models.mutes import Mute
from inspections.models.photos import CheckInPhoto, Photo
from inspections.models.progress import Hold, Progress, StageStanding
from inspections.models.records import SealedEntry
from inspections.models.signing import WrongSigningCode
from inspections.models.webhooks import Webhook, WebhookMessage, WebhookSecret

__all__ = [
    "Alert",
    "CheckIn",
    "CheckInPhoto",
    "FrameCheck",
    "Hold",
    "KeptAside",
    "Mail",
    "MailWish",
    "Mute",
    "Photo",
    "Progress",
    "SealedEntry",
    "SignOff",
    "StageStanding",
    "ToleranceProfile",
    "Webhook",
    "WebhookMessage",
    "WebhookSecret",
    "WrongSigningCode",
]
