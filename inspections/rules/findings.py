"""What an alert rule looks at and what it gives back."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext_lazy as _

from inspections.models.alerts import Severity
from openings.sequence.facts import Fact
from openings.sequence.plan import Plan
from openings.sequence.stage import Mark, Stage
from openings.sequence.state import OpeningState

ORDER_WAS_RIGHT = _("Check-ins that arrived later, or were taken back, show that the order was right.")


@dataclass(frozen=True, slots=True)
class Case:
    """All that is known of one opening when its rules are asked; gathered for many openings at once, without queries.

    `spreaders_out`: check-ins that say the spreaders are out. `schedule_changes`: (id, field, before, after, at ms).
    `contradictory`: (check-in id, at ms, contradictions) of readings that can't all be right.
    """

    plan: Plan
    state: OpeningState
    facts: Mapping[str, Fact]  # every stored check-in of the opening, by id, those taken back too
    spreaders_out: Sequence[Fact] = ()
    schedule_changes: Sequence[tuple[int, str, str, str, int]] = ()
    contradictory: Sequence[tuple[str, int, list[Any]]] = ()
    stages: Mapping[str, Stage] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "stages", {stage.code: stage for stage in self.plan.stages})

    def standing_facts(self, stage: str, *actions: str) -> Iterator[Fact]:
        """The check-ins of a stage that nobody took back, with one of these actions."""
        for fact in self.facts.values():
            if fact.stage == stage and fact.action in actions and fact.id not in self.state.taken_back:
                yield fact

    def marked(self, mark: Mark) -> frozenset[str]:
        """The codes of the plan's stages that carry a mark."""
        return frozenset(stage.code for stage in self.plan.stages if mark in stage.marks)

    def marked_facts(self, mark: Mark, *actions: str) -> Iterator[Fact]:
        """The check-ins that nobody took back, with one of these actions, of the stages that carry a mark."""
        for code in self.marked(mark):
            yield from self.standing_facts(code, *actions)


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
    """An alert rule about one opening: its code and name, what to do, how it is found, what it says closed by evidence.

    A rule tells what happened, from the whole record, and not how things look now: what was put right afterwards still
    went wrong. Evidence closes an alert only by showing that it never was so.
    """

    code: str
    title: Any
    advice: Any
    find: Callable[[Case], Iterable[Finding]]
    explained: Any = ORDER_WAS_RIGHT
