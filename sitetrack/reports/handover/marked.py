"""How an opening stands by what its stages mean, whatever its plan calls them."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from inspections.models import Progress
from inspections.models.progress import StageState
from openings.selectors.plans import prepared_plan
from openings.sequence.stage import Mark, codes_by_mark


def standings(progress: Progress, plan_id: UUID, mark: Mark) -> list[Mapping[str, Any]]:
    """The standing of each stage with this mark that the opening needs. No query, but one for each plan once."""
    stages = progress.state.get("stages", {})
    found = (stages.get(code) for code in codes_by_mark(prepared_plan(plan_id).stages).get(mark, ()))
    return [each for each in found if each and each.get("state") != StageState.NOT_NEEDED]


def is_done(progress: Progress, plan_id: UUID, mark: Mark) -> bool:
    """Whether every one of them is done, and there is one."""
    found = standings(progress, plan_id, mark)
    return bool(found) and all(each.get("state") == StageState.DONE for each in found)
