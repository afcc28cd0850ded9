"""A day on site in a few words: facts made one after another, each a minute after the one before."""

import json
from collections.abc import Callable
from itertools import count
from pathlib import Path

import pytest

from openings.sequence.facts import Fact
from openings.sequence.plan import Plan
from openings.sequence.plan_document import read_plan

PLANS = Path(__file__).parents[3] / "fixtures" / "sequence_plans"
MINUTE = 60_000
MORNING = 1_772_460_000_000  # 2026-03-02 14:00 UTC, in milliseconds
PHONES = {"crew": "crew-phone", "supervisor": "desk", "inspector": "inspector-phone"}


class Day:
    """Makes facts with sensible values; whatever matters to a test is given by name."""

    def __init__(self) -> None:
        self.facts: list[Fact] = []
        self.now = MORNING
        self._numbers = count(1)

    def __call__(self, stage: str, action: str, **given: object) -> Fact:
        number = next(self._numbers)
        self.now += MINUTE
        role = str(given.get("role", "crew"))
        values = {
            "id": f"fact-{number:03}",
            "corrected": self.now,
            "received": self.now + 1_000,
            "uncertainty": 2_000,
            "device": PHONES.get(role, role),
            "counter": number,
            "company": "frame company" if role == "crew" else "builder",
            "person": role,
        }
        fact = Fact(stage=stage, action=action, **(values | given))  # type: ignore[arg-type]
        self.facts.append(fact)
        return fact

    def work(self, *stages: str) -> None:
        for stage in stages:
            self(stage, "finish")

    def check(self, stage: str, *, signed_by: str | None = None, verdict: str = "pass") -> Fact:
        reading = self(stage, "finish", verdict=verdict)
        if signed_by:
            self(stage, "sign", about=reading.id, role=signed_by)
        return reading

    def to_trueness(self) -> None:
        """Everything before the check before board, on a frame that is not electrified."""
        self.work("receive")
        self.check("match")
        self.check("ffl")
        self.work("layout", "set", "stud", "anchor")


@pytest.fixture(scope="session")
def plan_named() -> Callable[[str], Plan]:
    return lambda name: read_plan(json.loads((PLANS / f"{name}.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="session")
def steel(plan_named: Callable[[str], Plan]) -> Plan:
    return plan_named("steel_stud")


@pytest.fixture(scope="session")
def plain() -> dict[str, object]:
    """A welded frame, not electrified, on bare slab."""
    return {"construction": "welded", "electrified": False, "covering_thickness": 0}


@pytest.fixture
def day() -> Day:
    return Day()
