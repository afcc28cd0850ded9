"""Sheet F-9: what closing the wall does to frames, from the readings before and after it, and how sure that is."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from inspections.selectors.drifts import MOST_PAIRS, ClosedFrame, closed_frames
from inspections.services.profiles import profile_in_force
from inspections.trueness.drift import CONFIDENCE, FEW, Drift, drift_of
from inspections.trueness.profile import ToleranceProfile
from sitetrack.desk.sheets import DRIFT, Desk, draw, site_page
from sitetrack.desk.words import word
from sitetrack.kit.lengths import INCH

# A reading to the nearest 1/32 in may be off by half of that.
LEAST_SHIFT = INCH // 64
GROUPINGS = {"person": _("By who closed the wall"), "company": _("By company"), "wall": _("By kind of wall")}


@dataclass(frozen=True, slots=True)
class DriftGroup:
    """One gang, company or wall, and how each measure shifted there; and which of them did."""

    name: str
    frames: int
    drifts: list[Drift]
    few: bool

    @property
    def shifted(self) -> list[Drift]:
        """The measures that shifted, as told apart from chance, by more than is lost in reading a tape."""
        return [drift for drift in self.drifts if drift.certain and abs(drift.mean) >= LEAST_SHIFT]


@require_safe
@site_page
def drift(request: HttpRequest, desk: Desk) -> HttpResponse:
    """One grouping at a time; whoever may not see the readings of both crews sees no pair of them."""
    by = request.GET.get("by", "person")
    grouping = by if by in GROUPINGS else "person"
    found = closed_frames(desk.site, desk.person)
    _version, profile = profile_in_force(desk.site)
    context: dict[str, Any] = {
        "groups": _groups(found.frames, grouping, profile),
        "grouping": grouping,
        "groupings": GROUPINGS,
        "frames": len(found.frames),
        "cut_off": found.cut_off,
        "most": MOST_PAIRS,
        "units": profile.units,
        "confidence": round(CONFIDENCE * 100),
        "few": FEW,
    }
    return draw(request, desk, DRIFT, "desk/drift.html", context)


def _groups(frames: list[ClosedFrame], grouping: str, profile: ToleranceProfile) -> list[DriftGroup]:
    members: dict[str, list[ClosedFrame]] = {}
    for frame in frames:
        members.setdefault(_name(frame, grouping), []).append(frame)
    groups = [
        DriftGroup(name, len(own), drift_of([frame.pair for frame in own], profile), len(own) < FEW)
        for name, own in members.items()
    ]
    return sorted(groups, key=lambda group: (-group.frames, group.name))


def _name(frame: ClosedFrame, grouping: str) -> str:
    if grouping == "wall":
        return word("wall_kind", frame.pair.wall) if frame.pair.wall else str(_("unknown"))
    return frame.company if grouping == "company" else f"{frame.pair.crew}, {frame.company}"
