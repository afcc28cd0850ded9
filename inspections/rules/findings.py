"""What an alert rule looks at and what it gives back."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from inspections.models.alerts import Severity
from openings.sequence.facts import Fact
from openings.sequence.plan import Plan
from openings.sequence.stage import Stage
from openings.sequence.state import OpeningState


@dataclass(frozen=True, slots=True)
class Case:
    """All that is known of one opening when its rules are asked; gathered for many openings at once, without queries.

    `spreaders_out`: check-ins that say the spreaders are out. `schedule_changes`: (id, field, before, after, at ms).
    `contradictory`: (check-in id, at ms, contradictions) of readings that can't all be right.
    """

    plan: Plan
    state: OpeningState
    facts: Mapping[str, Fact]
    spreaders_out: Sequence[Fact] = ()
    schedule_changes: Sequence[tuple[int, str, str, str, int]] = ()
    contradictory: Sequence[tuple[str, int, list[Any]]] = ()
    stages: Mapping[str, Stage] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "stages", {stage.code: stage for stage in self.plan.stages})


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that went wrong: `cause` makes it the same one when found again; `at` is milliseconds since 1970."""

    rule: str
    cause: str
    severity: Severity
    at: int
    evidence: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Rule:
    """An alert rule about one opening: its code, its name, and how it is found."""

    code: str
    title: Any
    advice: Any
    find: Callable[[Case], Iterable[Finding]]
