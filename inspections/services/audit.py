"""Does what is stored about openings equal the fold of their check-ins?"""

from dataclasses import dataclass

from inspections.models import Progress
from inspections.services.work_out import as_it_stands
from openings.models import DirtyOpening
from sitetrack.kit.clock import now

SAMPLE = 500


@dataclass(frozen=True, slots=True)
class Audit:
    """How many openings were folded again, and the numbers of those that stood differently."""

    looked_at: int
    different: tuple[str, ...]


def audit_projection(*, sample: int = SAMPLE) -> Audit:
    """Refold a random sample, leaving out what is known to be owed, and report every difference; changes nothing."""
    stored = dict(
        Progress.objects.exclude(opening__in=DirtyOpening.objects.values("opening"))
        .order_by("?")
        .values_list("opening", "state")[:sample]
    )
    worked, _ = as_it_stands(stored, now())
    return Audit(
        len(worked), tuple(sorted(w.opening.number for w in worked if stored[w.opening.pk] != w.state.to_dict()))
    )
