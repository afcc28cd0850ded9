"""Figures of the site, its floors, trades, stages and companies, added up opening by opening.

Everything is counted twice: as it stood at the end of the period and as it stood at its start. One opening adds the
same weights to its floor, its trades, its stages and the companies that did the work; that is why they agree.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from inspections.selectors.alerts import AlertLine
from openings.sequence.facts import Fact
from openings.sequence.stage import Stage
from openings.sequence.state import OpeningState, StageState, State
from sitetrack.kit.clock import from_ms, to_ms
from sitetrack.reports.cases import OpeningCase
from sitetrack.reports.week import Period, Week, week_of

CRITICAL = "critical"
VERDICT_FIGURES = {"pass": "checks_passed", "fail": "checks_failed", "incomplete": "checks_incomplete"}


@dataclass(slots=True)
class Tally:
    """Figures by name, at the end of the period and at its start."""

    now: Counter[str] = field(default_factory=Counter)
    before: Counter[str] = field(default_factory=Counter)

    def change(self, figure: str) -> int:
        """What was added since the start of the period."""
        return self.now[figure] - self.before[figure]


StageKey = tuple[UUID, int, Stage]  # sequence plan, place in it, stage


@dataclass(slots=True)
class Totals:
    """The figures of one period. `floors` is by floor key, `companies` by company key as text.

    `done_on` has the weight that stands at the end by the week it was earned in; `coming` what is still to do and what
    of it can start, by floor key and stage code.
    """

    period: Period
    site: Tally = field(default_factory=Tally)
    floors: defaultdict[Any, Tally] = field(default_factory=lambda: defaultdict(Tally))
    trades: defaultdict[str, Tally] = field(default_factory=lambda: defaultdict(Tally))
    stages: defaultdict[StageKey, Tally] = field(default_factory=lambda: defaultdict(Tally))
    companies: defaultdict[str, Tally] = field(default_factory=lambda: defaultdict(Tally))
    done_on: Counter[Week] = field(default_factory=Counter)
    coming: defaultdict[tuple[Any, str], Counter[str]] = field(default_factory=lambda: defaultdict(Counter))
    stage_order: dict[str, Stage] = field(default_factory=dict)

    def add(self, case: OpeningCase) -> None:
        """Count one opening. Only a listed one has progress; what was reported counts either way."""
        by_id = {fact.id: fact for fact in case.facts}
        if case.listed:
            self._add_standing(case, case.now, by_id, "now")
        if case.listed_before:
            self._add_standing(case, case.before, by_id, "before")
        self._add_reports(case)
        for hold, moment in [(h, "now") for h in case.now.holds] + [(h, "before") for h in case.before.holds]:
            if hold.open:
                for tally in (self.site, self.companies[hold.company]):
                    getattr(tally, moment)["holds_open"] += 1
        self.add_alerts(case.alerts, self.floors[case.opening.floor_id])

    def add_alerts(self, alerts: Iterable[AlertLine], floor: Tally | None = None) -> None:
        """Count the alerts open at the end and at the start of the period."""
        for alert in alerts:
            for moment, at in (("now", self.period.end), ("before", self.period.start)):
                if open_at(alert, at):
                    figures = getattr(self.site, moment)
                    figures["alerts_open"] += 1
                    figures["alerts_critical"] += alert.severity == CRITICAL
                    if floor is not None:
                        getattr(floor, moment)["alerts_open"] += 1

    def _add_standing(self, case: OpeningCase, state: OpeningState, by_id: dict[str, Fact], moment: str) -> None:
        figures = opening_figures(state)
        getattr(self.site, moment).update(figures)
        getattr(self.floors[case.opening.floor_id], moment).update(figures)
        for place, stage in enumerate(case.plan.stages):
            standing = state.stages[stage.code]
            if standing.state is State.NOT_NEEDED:
                continue
            done = standing.state is State.DONE
            earned = stage.weight if done else 0
            counts = {"needed": 1, str(standing.state): 1, "earned": earned, "total": stage.weight}
            getattr(self.trades[stage.trade], moment).update(counts)
            getattr(self.stages[case.opening.plan_id, place, stage], moment).update(counts)
            if done and standing.fact:
                getattr(self.companies[by_id[standing.fact].company], moment)["earned"] += earned
            if moment == "now":
                self._add_to_come(case, stage, standing)

    def _add_to_come(self, case: OpeningCase, stage: Stage, standing: StageState) -> None:
        """Note when the weight that stands was earned, and what is still to do on the floor."""
        if standing.state is State.DONE:
            if standing.since is not None:
                day = from_ms(standing.since).astimezone(self.period.zone).date()
                # The hours between Sunday's end and the cut-off still belong to the week that the cut-off closes.
                self.done_on[min(week_of(day), self.period.week)] += stage.weight
            return
        self.stage_order.setdefault(stage.code, stage)
        figures = self.coming[case.opening.floor_id, stage.code]
        figures["to_do"] += 1
        figures["ready"] += standing.state in (State.READY, State.UNDERWAY)

    def _add_reports(self, case: OpeningCase) -> None:
        """Count the check-ins and checks received in this period and in the one before."""
        period = self.period
        spans = (("now", period.start, period.end), ("before", period.earlier, period.start))
        for moment, start, end in spans:
            first, last = to_ms(start), to_ms(end)
            for fact in case.facts:
                if first <= fact.received < last:
                    late = fact.corrected < first
                    for tally in (self.site, self.companies[fact.company]):
                        getattr(tally, moment).update(check_ins=1, late=int(late))
            taken_back = (case.now if moment == "now" else case.before).taken_back
            for check in case.checks:
                if start <= check.received_at < end and check.id not in taken_back:
                    for tally in (self.site, self.companies[check.company]):
                        getattr(tally, moment).update(["checks_read", VERDICT_FIGURES[check.verdict]])


def opening_figures(state: OpeningState) -> Counter[str]:
    """What one listed opening counts for; `earned` of `total` is weight, the rest are ones and noughts or counts."""
    stages = state.stages.values()
    return Counter(
        openings=1,
        finished=int(finished(state)),
        on_hold=int(any(hold.open for hold in state.holds)),
        failed=int(any(stage.state in (State.FAILED, State.OUTDATED) for stage in stages)),
        awaiting_signature=sum(stage.awaits_signature for stage in stages),
        earned=state.earned,
        total=state.total,
    )


def finished(state: OpeningState) -> bool:
    """Whether every stage the opening needs is done."""
    return state.total > 0 and not state.remaining_path


def open_at(alert: AlertLine, moment: Any) -> bool:
    """Whether an alert had been opened and not closed by a moment."""
    return alert.opened_at < moment and (alert.closed_at is None or alert.closed_at >= moment)


def percent(earned: int, total: int) -> int:
    """Whole per cent, rounded down, so that 100 means all of it."""
    return earned * 100 // total if total else 0


def is_late(fact: Fact, period: Period) -> bool:
    """Whether it happened before the period in which it was received."""
    return fact.corrected < to_ms(period.start) <= fact.received
