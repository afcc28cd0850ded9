"""What working an opening out costs: a fold of its check-ins, and the fold again when one more came."""

import json
from collections.abc import Iterator
from itertools import cycle, islice

from openings.sequence.facts import Fact
from openings.sequence.fold import fold
from openings.sequence.plan import Plan
from openings.sequence.plan_document import read_plan
from openings.sequence.stage import Kind
from openings.services.sites import SHIPPED_PLANS
from sitetrack.demo.bench.figures import Figure, each_in_ms, per_second

OPENINGS, SAMPLES, REFOLDS = 500, 7, 300
USUAL, LONG = 20, 200
MORNING, MINUTE = 1_772_460_000_000, 60_000  # 2026-03-02 14:00 UTC, in milliseconds
# An opening that needs every stage of the plan.
ATTRIBUTES = {
    "construction": "knocked_down", "electrified": True, "leaves": 1, "rating_minutes": 45, "covering_thickness": 0.25,
    "wall_kind": "steel_stud", "hand": "RH",
}  # fmt: skip
ONE_MORE = f"one more on {USUAL}"


def measure_fold(*, quick: bool) -> list[Figure]:
    """The shipped plan for steel studs; facts come in order, as from one phone."""
    plan = read_plan(json.loads((SHIPPED_PLANS / "steel_stud.json").read_text(encoding="utf-8")))
    openings, refolds = (OPENINGS // 10, REFOLDS // 10) if quick else (OPENINGS, REFOLDS)
    usual, long = facts_of_a_job(plan, USUAL + 1), facts_of_a_job(plan, LONG + 1)

    def fold_all() -> None:
        for _ in range(openings):
            fold(plan, ATTRIBUTES, usual[:USUAL])

    return [
        per_second(f"openings of {USUAL} check-ins", "openings/s", fold_all, count=openings, samples=SAMPLES),
        each_in_ms(ONE_MORE, [lambda: fold(plan, ATTRIBUTES, usual)] * refolds),
        each_in_ms(f"one more on {LONG}", [lambda: fold(plan, ATTRIBUTES, long)] * refolds, of=ONE_MORE),
    ]


def facts_of_a_job(plan: Plan, count: int) -> list[Fact]:
    """So many check-ins of one opening: its stages done and signed in order, then read and signed again."""
    return list(islice(_facts(plan), count))


def _facts(plan: Plan) -> Iterator[Fact]:
    reports = _reports(plan)
    reading = ""
    for number, (stage, action, role) in enumerate(reports, 1):
        at = MORNING + number * MINUTE
        name = f"fact-{number:05}"
        if action == "finish":
            reading = name
        yield Fact(
            id=name,
            stage=stage,
            action=action,
            corrected=at,
            received=at + 1000,
            uncertainty=2000,
            device="phone",
            counter=number,
            about=reading if action == "sign" else None,
            verdict="pass" if action == "finish" and _is_check(plan, stage) else None,
            role=role,
            company="frame company",
            person=role,
        )


def _reports(plan: Plan) -> Iterator[tuple[str, str, str]]:
    signed = [stage.code for stage in plan.stages if stage.sign_roles]
    for stage in plan.stages:
        yield stage.code, "finish", "crew"
        if stage.sign_roles:
            yield stage.code, "sign", str(stage.sign_roles[0].value)
    for code in cycle(signed):
        yield code, "finish", "crew"
        yield code, "sign", "supervisor"


def _is_check(plan: Plan, code: str) -> bool:
    return any(stage.code == code and stage.kind is Kind.CHECK for stage in plan.stages)
