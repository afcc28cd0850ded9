"""What is to be built."""

from openings.models.floor_plans import FloorPlan
from openings.models.lists import OpeningList
from openings.models.openings import DirtyOpening, Opening
from openings.models.places import Building, Floor
from openings.models.plans import PlanDraft, SequencePlan
from openings.models.schedules import HeadingMap, IntakeDraft, ScheduleChange, ScheduleRevision
from openings.models.sites import Site
from openings.models.walls import WallType

__all__ = [
    "Building",
    "DirtyOpening",
    "Floor",
    "FloorPlan",
    "HeadingMap",
    "IntakeDraft",
    "Opening",
    "OpeningList",
    "PlanDraft",
    "ScheduleChange",
    "ScheduleRevision",
    "SequencePlan",
    "Site",
    "WallType",
]
