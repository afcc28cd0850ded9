"""What is to be built."""

from openings.models.openings import DirtyOpening, Opening
from openings.models.places import Building, Floor
from openings.models.plans import SequencePlan
from openings.models.schedules import HeadingMap, IntakeDraft, ScheduleChange, ScheduleRevision
from openings.models.sites import Site
from openings.models.walls import WallType

__all__ = [
    "Building",
    "DirtyOpening",
    "Floor",
    "HeadingMap",
    "IntakeDraft",
    "Opening",
    "ScheduleChange",
    "ScheduleRevision",
    "SequencePlan",
    "Site",
    "WallType",
]
