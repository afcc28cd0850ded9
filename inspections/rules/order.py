"""Work that went ahead of what it should have waited for, told from the fold's breaches."""

from collections.abc import Iterable, Iterator

from inspections.models.alerts import Severity
from inspections.rules.findings import Case, Finding
from openings.sequence.facts import Action
from openings.sequence.stage import Mark, Trade
from openings.sequence.state import Breach, BreachKind, State

BEGUN = (Action.START, Action.FINISH)


def _breaches(case: Case, *kinds: BreachKind) -> Iterator[Breach]:
    return (breach for breach in case.state.breaches if breach.kind in kinds)


def _finding(rule: str, breach: Breach, severity: Severity) -> Finding:
    # Every crew of the site reads alerts: they tell the company, and no person.
    told = {name: value for name, value in breach.evidence.items() if name != "person"}
    evidence = {**breach.to_dict(), "evidence": told, "happened": breach.at}
    return Finding(rule, f"{breach.fact}:{breach.prerequisite}", severity, breach.at, evidence)


def boarded_before_checked(case: Case) -> Iterable[Finding]:
    """The wall was closed before the frame was proved."""
    for breach in _breaches(case, BreachKind.PAST_HOLD_POINT):
        if case.stages[breach.stage].closes_wall:
            yield _finding("boarded-before-checked", breach, Severity.CRITICAL)


def past_hold_point(case: Case) -> Iterable[Finding]:
    """Other work went past a hold point: it was not passed, or what it had proved had changed since."""
    for breach in _breaches(case, BreachKind.PAST_HOLD_POINT, BreachKind.CHECK_OUTDATED):
        if breach.critical and not case.stages[breach.stage].closes_wall:
            yield _finding("past-hold-point", breach, Severity.CRITICAL)


def boarded_before_signed(case: Case) -> Iterable[Finding]:
    """Read in time and signed late."""
    for breach in _breaches(case, BreachKind.BEFORE_SIGNED):
        yield _finding("went-on-before-signed", breach, Severity.WARNING)


def failed_and_went_on(case: Case) -> Iterable[Finding]:
    """A check failed and the work it guards went on."""
    for breach in _breaches(case, BreachKind.FAILED_CHECK):
        severity = Severity.CRITICAL if breach.critical else Severity.WARNING
        yield _finding("check-failed-work-went-on", breach, severity)


def order_uncertain(case: Case) -> Iterable[Finding]:
    """Two clocks are too far apart to say which came first."""
    for breach in _breaches(case, BreachKind.ORDER_UNCERTAIN):
        yield _finding("order-uncertain", breach, Severity.NOTICE)


def floor_unknown_at_set(case: Case) -> Iterable[Finding]:
    """The frame was set before anyone confirmed the finished floor."""
    standing, floor = case.marked(Mark.STANDS_FRAME), case.marked(Mark.CONFIRMS_FLOOR)
    for breach in _breaches(case, BreachKind.OUT_OF_ORDER):
        if breach.stage in standing and breach.prerequisite in floor:
            yield _finding("floor-unknown-at-set", breach, Severity.WARNING)


def outdated_wall_closed(case: Case) -> Iterable[Finding]:
    """The wall was closed over a check whose result had changed, or it changed behind the closed wall."""
    rule = "check-outdated-wall-closed"
    told = set()
    for breach in _breaches(case, BreachKind.CHECK_OUTDATED):
        if case.stages[breach.stage].closes_wall:
            told.add(breach.prerequisite)
            yield _finding(rule, breach, Severity.CRITICAL)
    for wall, closed_at in _closed_walls(case):
        for code in sorted(wall_waits_for(case, wall) - told):
            check = case.state.stages[code]
            if check.state == State.OUTDATED:
                evidence = {"stage": wall, "prerequisite": code, "outdated_by": list(check.outdated_by)}
                yield Finding(rule, f"{check.reading}:{code}", Severity.CRITICAL, check.since or closed_at, evidence)


def boarded_without_rough_in(case: Case) -> Iterable[Finding]:
    """An electrified opening was closed before the electrician had ever finished in it."""
    for wall, closed_at in _closed_walls(case):
        for code in sorted(wall_waits_for(case, wall)):
            if case.stages[code].trade is not Trade.ELECTRICIAN or case.state.stages[code].state == State.NOT_NEEDED:
                continue
            wired_at = min((f.corrected for f in case.standing_facts(code, Action.FINISH)), default=None)
            if wired_at is None or wired_at > closed_at:
                evidence = {"stage": wall, "prerequisite": code, "done_at": wired_at}
                yield Finding("boarded-without-rough-in", f"{wall}:{code}", Severity.CRITICAL, closed_at, evidence)


def _closed_walls(case: Case) -> Iterator[tuple[str, int]]:
    """Each stage that hides what came before it and was ever begun, with when first; a start may go unreported."""
    for stage in case.plan.stages:
        if stage.closes_wall:
            first = min((f.corrected for f in case.standing_facts(stage.code, *BEGUN)), default=None)
            if first is not None:
                yield stage.code, first


def wall_waits_for(case: Case, code: str) -> set[str]:
    """Every stage that must come before `code`, however far back."""
    seen: set[str] = set()
    todo = [code]
    while todo:
        for before in case.stages[todo.pop()].after:
            if before not in seen:
                seen.add(before)
                todo.append(before)
    return seen
