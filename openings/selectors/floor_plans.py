"""The picture a floor's plan has now."""

from openings.models import Floor, FloorPlan


def plan_of(floor: Floor) -> FloorPlan | None:
    """The floor's plan; None where it has none, or where it was taken away."""
    found: FloorPlan | None = getattr(floor, "plan", None)
    return None if found is None or found.away_at else found
