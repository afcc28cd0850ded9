"""The row of an opening, and the rows of what happened at it in the week."""

from collections.abc import Iterator
from dataclasses import dataclass

from openings.sequence.facts import Fact
from openings.sequence.state import State
from sitetrack.kit.clock import from_ms, rfc3339, to_ms
from sitetrack.kit.lengths import Length, UnitSystem, format_length
from sitetrack.reports.cases import OpeningCase
from sitetrack.reports.layout import STAGE_COLUMN
from sitetrack.reports.names import Names
from sitetrack.reports.tables import Plain
from sitetrack.reports.totals import finished, is_late, open_at, percent
from sitetrack.reports.week import Period

Row = dict[str, Plain]
# Only what somebody reported is a change; a stage that became ready, or waits again, follows from it.
REPORTED = {State.UNDERWAY, State.DONE, State.FAILED, State.OUTDATED}
DAY_MS = 86_400_000


@dataclass(frozen=True, slots=True)
class Telling:
    """What every row needs to be told: the period, the names, the site's units."""

    period: Period
    names: Names
    units: UnitSystem


def place(case: OpeningCase) -> Row:
    """Where an opening is."""
    floor = case.opening.floor
    return {"opening": case.opening.number, "building": str(floor.building), "floor": str(floor)}


def opening_row(case: OpeningCase, telling: Telling) -> Row:
    """How a listed opening stands at the end of the period."""
    opening, state, period = case.opening, case.now, telling.period
    before = case.before.earned if case.listed_before else 0
    return {
        **place(case),
        "mark": opening.mark,
        "plan": telling.names.plans[opening.plan_id],
        "width": _size(opening.width, telling.units),
        "height": _size(opening.height, telling.units),
        "leaves": opening.leaves,
        "construction": opening.construction or None,
        "hand": opening.hand,
        "wall": opening.wall.code if opening.wall else "",
        "rating": opening.rating_text,
        "electrified": opening.electrified,
        "hardware_set": opening.hardware_set,
        "next_stage": state.next_stage,
        "next_trade": state.next_trade,
        "earned": state.earned,
        "total": state.total,
        "percent": percent(state.earned, state.total),
        "earned_last": before,
        "earned_change": state.earned - before,
        "finished": finished(state),
        "on_hold": any(hold.open for hold in state.holds),
        "alerts_open": sum(open_at(alert, period.end) for alert in case.alerts),
        "awaiting_signature": sum(stage.awaits_signature for stage in state.stages.values()),
        "check_ins": len(case.facts),
        "late": sum(is_late(fact, period) for fact in case.facts),
        "last_at": moment(state.last_at),
        **_ladder(case, telling),
    }


def hold_rows(case: OpeningCase, telling: Telling) -> Iterator[Row]:
    """Holds that are open, or were opened or released since the start of the period."""
    open_before = {hold.id for hold in case.before.holds if hold.open}
    known_before = {hold.id for hold in case.before.holds}
    by_id = {fact.id: fact for fact in case.facts}
    names = telling.names
    for hold in case.now.holds:
        if not hold.open and hold.id in known_before - open_before:
            continue
        release = by_id.get(hold.released_by or "")
        until = to_ms(telling.period.end) if hold.released_at is None else hold.released_at
        yield {
            **place(case),
            "stage": hold.stage,
            "reason": hold.note,
            "opened_at": moment(hold.at),
            "opened_by": names.person(hold.person),
            "company": names.company(hold.company),
            "days": (until - hold.at) // DAY_MS,
            "released_at": moment(hold.released_at),
            "released_by": names.person(release.person) if release else None,
            "released_why": release.note if release else None,
        }


def change_rows(case: OpeningCase, telling: Telling) -> Iterator[Row]:
    """Stages that somebody brought to another state, and openings that came into the schedule or left it."""
    if case.listed != case.listed_before:
        words = ("not listed", "listed")
        weight = case.now.earned if case.listed else -case.before.earned
        yield _change(case, words[case.listed_before], words[case.listed], weight)
        return
    if not case.listed or case.now is case.before:
        return
    by_id = {fact.id: fact for fact in case.facts}
    for stage in case.plan.stages:
        was, now = case.before.stages[stage.code], case.now.stages[stage.code]
        if was.state is not now.state and REPORTED & {was.state, now.state}:
            weight = stage.weight * ((now.state is State.DONE) - (was.state is State.DONE))
            fact = by_id.get(now.fact or "")
            yield _change(case, str(was.state), str(now.state), weight) | {
                "stage": stage.code,
                "at": moment(now.since),
                "company": telling.names.company(fact.company) if fact else None,
                "person": telling.names.person(fact.person) if fact else None,
                "late": is_late(fact, telling.period) if fact else False,
            }


def late_rows(case: OpeningCase, telling: Telling) -> Iterator[Row]:
    """Check-ins received in this period that happened before it."""
    for fact in case.facts:
        if is_late(fact, telling.period):
            yield {
                **place(case),
                "stage": fact.stage,
                "action": str(fact.action),
                "happened_at": moment(fact.corrected),
                "received_at": moment(fact.received),
                **_who(fact, telling.names),
                "note": fact.note,
                "taken_back": fact.id in case.now.taken_back,
            }


def moment(ms: int | None) -> str | None:
    """RFC 3339 text of a moment, None where there is none."""
    return None if ms is None else rfc3339(from_ms(ms))


def _ladder(case: OpeningCase, telling: Telling) -> Row:
    """The state of every stage of any plan in use; None for a stage that this opening's plan does not have."""
    stages = case.now.stages
    return {STAGE_COLUMN + code: str(stages[code].state) if code in stages else None for code in telling.names.stages}


def _who(fact: Fact, names: Names) -> Row:
    return {"company": names.company(fact.company), "person": names.person(fact.person)}


def _change(case: OpeningCase, was: str, now: str, weight: int) -> Row:
    who = {"stage": None, "at": None, "company": None, "person": None, "late": False}
    return {**place(case), **who, "was": was, "now": now, "earned_change": weight}


def _size(length: Length | None, units: UnitSystem) -> str | None:
    return None if length is None else format_length(length, units=units, feet=True)
