"""Plans as plain data: read from a document (a fixture, a form, a row) and written back."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import TypeVar

from openings.sequence.checking import PlanError, problems_of
from openings.sequence.condition_document import ConditionError, read_condition, write_condition
from openings.sequence.conditions import ATTRIBUTES, Condition
from openings.sequence.fault_words import FAULTS, PlanProblem, say
from openings.sequence.plan import Plan
from openings.sequence.reading_words import expected, expected_of, expected_one_of
from openings.sequence.stage import NO_WORDS, ChecklistItem, Kind, Mark, Role, Stage, Trade, WhenUnknown, Words

Document = Mapping[str, object]
E = TypeVar("E", bound=StrEnum)
T = TypeVar("T")

CODE = re.compile(r"[a-z][a-z0-9_]{0,39}")
LONGEST_TEXT = 300
LONGEST_LIST = 100
PLAN_FIELDS = frozenset(field.name for field in fields(Plan) if field.init)
STAGE_FIELDS = frozenset(field.name for field in fields(Stage))


@dataclass(frozen=True, slots=True)
class PlanSheet:
    """A plan as written: every part of it can be read, but whether it is sound nobody has said yet."""

    code: str
    name: Words
    wall_kind: str
    stages: tuple[Stage, ...]
    basis: Words = NO_WORDS


def read_plan(document: Document, readings: Collection[str] | None = None) -> Plan:
    """Read a plan from plain data; `readings` are the names of the readings that can be taken, where they are known.

    Raises PlanError listing every fault: first those of the writing; once the writing is right, those of the plan.
    """
    sheet = read_sheet(document)
    if readings is not None and (problems := problems_of(sheet.stages, readings)):
        raise PlanError(problems)
    return Plan(code=sheet.code, name=sheet.name, wall_kind=sheet.wall_kind, stages=sheet.stages, basis=sheet.basis)


def read_sheet(document: Document) -> PlanSheet:
    """Read what is written, sound or not; raises PlanError listing every fault of the writing."""
    reader = _Reader()
    plan = reader.at("", document)
    code = reader.code(plan)
    name = reader.words(plan, "name")
    basis = reader.words(plan, "basis", needed=False)
    wall_kind = plan.get("wall_kind")
    if not ATTRIBUTES["wall_kind"].takes(wall_kind):
        reader.fault("wall_kind", wall_kind, expected_of("wall_kind"))
    stages = tuple(reader.stage(row) for row in reader.listed(plan, "stages"))
    if reader.problems:
        raise PlanError(reader.problems)
    return PlanSheet(code, name, str(wall_kind), stages, basis)


def write_plan(plan: Plan | PlanSheet) -> dict[str, object]:
    """Write a plan as the plain data it is read from, every field spelt out."""
    return {
        "code": plan.code,
        "name": _write_words(plan.name),
        "wall_kind": plan.wall_kind,
        "basis": None if plan.basis == NO_WORDS else _write_words(plan.basis),
        "stages": [write_stage(stage) for stage in plan.stages],
    }


def write_stage(stage: Stage) -> dict[str, object]:
    """Write one stage as plain data, every field spelt out."""
    return {
        "code": stage.code,
        "title": _write_words(stage.title),
        "trade": stage.trade.value,
        "kind": stage.kind.value,
        "after": list(stage.after),
        "covers": list(stage.covers),
        "hold_point": stage.hold_point,
        "marks": [mark.value for mark in stage.marks],
        "sign_roles": [role.value for role in stage.sign_roles],
        "checklist": [
            {
                "code": item.code,
                "text": _write_words(item.text),
                "expect": item.expect,
                "proves_spreaders": item.proves_spreaders,
            }
            for item in stage.checklist
        ],
        "required_readings": list(stage.required_readings),
        "weight": stage.weight,
        "applies_when": None if stage.applies_when is None else write_condition(stage.applies_when),
        "if_unknown": stage.if_unknown.value,
    }


def _write_words(words: Words) -> dict[str, str]:
    return {"en": words.en, "es": words.es}


class _Reader:
    """Reads the parts of a document, noting every fault instead of stopping at the first."""

    def __init__(self) -> None:
        self.problems: list[PlanProblem] = []
        self.where = ""

    def fault(self, field: str, read: object, wanted: Words) -> None:
        place = Words(f"Stage '{self.where}'", f"Etapa '{self.where}'") if self.where else Words("The plan", "El plan")
        words = say(FAULTS, "unreadable", place=place, field=field, read=repr(read), expected=wanted)
        self.problems.append(PlanProblem("unreadable", self.where, words))

    def at(self, where: str, value: object) -> Document:
        self.where = where
        if isinstance(value, Mapping):
            known = STAGE_FIELDS if where else PLAN_FIELDS
            for name in value:
                if name not in known:
                    self.fault(str(name), value[name], expected("known fields", names=", ".join(sorted(known))))
            return value
        self.fault("stage" if where else "plan", value, expected("object"))
        return {}

    def stage(self, value: object) -> Stage:
        named = value.get("code") if isinstance(value, Mapping) else None
        row = self.at(str(named or "(no code)"), value)
        return Stage(
            code=self.code(row),
            title=self.words(row, "title"),
            trade=self.one_of(row, "trade", Trade, Trade.SUPERVISOR),
            kind=self.one_of(row, "kind", Kind, Kind.WORK),
            after=self.names(row, "after"),
            covers=self.names(row, "covers"),
            hold_point=self.typed(row, "hold_point", bool, default=False),
            marks=tuple(self.member("marks", Mark, mark) for mark in self.names(row, "marks")),
            sign_roles=tuple(self.member("sign_roles", Role, role) for role in self.names(row, "sign_roles")),
            checklist=tuple(self.item(item) for item in self.listed(row, "checklist")),
            required_readings=self.names(row, "required_readings"),
            weight=self.typed(row, "weight", int, default=1),
            applies_when=self.condition(row),
            if_unknown=self.one_of(row, "if_unknown", WhenUnknown, WhenUnknown.NEEDED),
        )

    def code(self, row: Document) -> str:
        return self.checked_code("code", row.get("code"))

    def checked_code(self, field: str, value: object) -> str:
        if isinstance(value, str) and CODE.fullmatch(value):
            return value
        self.fault(field, value, expected("code"))
        return ""

    def names(self, row: Document, field: str) -> tuple[str, ...]:
        names = tuple(self.checked_code(field, name) for name in self.listed(row, field))
        if len(set(names)) < len(names):
            self.fault(field, list(names), expected("once"))
        return names

    def words(self, row: Document, field: str, *, needed: bool = True) -> Words:
        match row.get(field):
            case None if not needed:
                return NO_WORDS
            case {"en": str(en), "es": str(es)} if all(0 < len(text) <= LONGEST_TEXT for text in (en, es)):
                return Words(en, es)
            case other:
                self.fault(field, other, expected("words", most=LONGEST_TEXT))
        return NO_WORDS

    def item(self, value: object) -> ChecklistItem:
        row = value if isinstance(value, Mapping) else {"code": value}
        return ChecklistItem(
            code=self.checked_code("checklist code", row.get("code")),
            text=self.words(row, "text"),
            expect=self.typed(row, "expect", bool, default=True),
            proves_spreaders=self.typed(row, "proves_spreaders", bool, default=False),
        )

    def condition(self, row: Document) -> Condition | None:
        if row.get("applies_when") is None:
            return None
        try:
            return read_condition(row["applies_when"])
        except ConditionError as error:
            words = say(FAULTS, "unreadable condition", stage=self.where, fault=error.said)
            self.problems.append(PlanProblem("unreadable", self.where, words))
            return None

    def one_of(self, row: Document, field: str, kind: type[E], default: E) -> E:
        # A trade has no default worth the name; the other choices have.
        if field not in row and kind is not Trade:
            return default
        return self.member(field, kind, row.get(field), default)

    def member(self, field: str, kind: type[E], value: object, default: E | None = None) -> E:
        for member in kind:
            if value == member.value:
                return member
        self.fault(field, value, expected_one_of(member.value for member in kind))
        return default or next(iter(kind))

    def typed(self, row: Document, field: str, kind: type[T], *, default: T) -> T:
        value = row.get(field, default)
        if isinstance(value, kind) and (kind is bool or not isinstance(value, bool)):
            return value
        self.fault(field, value, expected("yes or no" if kind is bool else "whole number"))
        return default

    def listed(self, row: Document, field: str) -> list[object]:
        value = row.get(field, [])
        if isinstance(value, list | tuple) and len(value) <= LONGEST_LIST:
            return list(value)
        self.fault(field, value, expected("list", most=LONGEST_LIST))
        return []
