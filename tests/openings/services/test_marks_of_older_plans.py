"""A site from before stages carried marks: its plans come to say as marks what their codes said."""

from importlib import import_module
from typing import Any

import pytest
from django.apps import apps

from openings.models import SequencePlan, Site
from openings.sequence.plan_document import read_plan
from openings.sequence.stage import Stage
from tests import builders as make

pytestmark = pytest.mark.django_db
migration: Any = import_module("openings.migrations.0002_marks_on_stages")


def stages_of(plan: SequencePlan) -> tuple[Stage, ...]:
    document = {"code": plan.code, "name": plan.name, "wall_kind": plan.wall_kind, "stages": plan.stages}
    return read_plan(document).stages


@pytest.fixture
def older() -> Site:
    """As the earlier release wrote it: no marks, the wall's closing a field of its own, questions known by code."""
    site = make.site()
    for plan in SequencePlan.objects.filter(site=site):
        for stage in plan.stages:
            if "closes_wall" in stage.pop("marks", ()):
                stage["closes_wall"] = True
            for item in stage.get("checklist", ()):
                item.pop("proves_spreaders", None)
        plan.save()
    return site


def test_the_shipped_plans_of_an_older_site_become_those_of_a_new_one(older: Site) -> None:
    new = {plan.code: stages_of(plan) for plan in SequencePlan.objects.filter(site=make.site())}
    migration.put_marks(apps, None)
    brought = {plan.code: stages_of(plan) for plan in SequencePlan.objects.filter(site=older)}
    assert brought == new
    assert any(stage.marks for stage in brought["masonry"])


def test_marks_once_put_are_not_put_twice(older: Site) -> None:
    migration.put_marks(apps, None)
    once = [plan.stages for plan in SequencePlan.objects.filter(site=older)]
    migration.put_marks(apps, None)
    assert [plan.stages for plan in SequencePlan.objects.filter(site=older)] == once


def test_going_back_leaves_what_the_earlier_release_reads(older: Site) -> None:
    before = {plan.code: plan.stages for plan in SequencePlan.objects.filter(site=older)}
    migration.put_marks(apps, None)
    migration.take_marks_off(apps, None)
    for plan in SequencePlan.objects.filter(site=older):
        for stage, was in zip(plan.stages, before[plan.code], strict=True):
            assert {**was, "checklist": was.get("checklist", [])} == stage


def test_a_code_that_a_site_used_for_something_else_gets_no_mark_it_could_not_carry() -> None:
    """A site's own check called 'set' changes nothing at the opening, so it stands no frame."""
    assert "marks" not in migration.marked({"code": "set", "kind": "check"})
    assert migration.marked({"code": "set"})["marks"] == ["stands_frame"]
    assert migration.marked({"code": "wall", "kind": "check", "closes_wall": True}) == {"code": "wall", "kind": "check"}
