"""Sequence plans drawn on pages: read by all, drawn, checked, previewed and installed by the supervisor."""

import re
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inspections.models import Progress
from openings.models import PlanDraft, SequencePlan, Site
from openings.sequence.plan_document import LONGEST_LIST, read_sheet
from openings.sequence.stage import Kind, Mark, Stage
from sitetrack.access.roles import Role
from sitetrack.desk.plan_layout import BOX_HEIGHT, BOX_WIDTH, lay_out
from sitetrack.desk.plan_words import CONDITIONS, MARK_USES, MARKS
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def base(job: Site) -> str:
    return f"/s/{job.code}/plans/steel_stud"


@pytest.fixture
def drawn(job: Site, desk: Client) -> PlanDraft:
    """A draft of the steel stud plan, just begun."""
    desk.post(f"{base(job)}/begin", {"version": "1"})
    return PlanDraft.objects.get(site=job)


def form_of(page: Any) -> dict[str, list[str]]:
    """What the stage's form on a page would send."""
    markup = page.content.decode()
    (form,) = re.findall(r'<form method="post" action="\?stage.*?</form>', markup, re.DOTALL)
    sent: dict[str, list[str]] = {}
    for tag in re.findall(r"<input [^>]*>", form):
        attributes = dict(re.findall(r'([a-z-]+)="([^"]*)"', tag))
        is_box = attributes.get("type") == "checkbox"
        if "name" in attributes and (not is_box or " checked" in tag):
            value = attributes.get("value", "on" if is_box else "")
            sent.setdefault(attributes["name"], []).append(unescape(value))
    for name, options in re.findall(r'<select name="(\w+)".*?>(.*?)</select>', form, re.DOTALL):
        chosen = re.findall(r'<option value="(\w*)" selected', options)
        sent[name] = chosen or re.findall(r'<option value="(\w*)"', options)[:1]
    sent.pop("csrfmiddlewaretoken", None)
    return sent


def change(job: Site, client: Client, stage: str, **typed: Any) -> Any:
    address = f"{base(job)}/draft?stage={stage}"
    return client.post(address, form_of(client.get(address)) | typed)


def stages(job: Site) -> dict[str, Stage]:
    return {stage.code: stage for stage in read_sheet(PlanDraft.objects.get(site=job).document).stages}


def test_every_mark_has_its_words_and_its_use() -> None:
    assert set(MARKS) == set(MARK_USES) == set(Mark)


@pytest.mark.parametrize("role", Role.values)
def test_everyone_of_the_site_reads_the_plan_in_force(job: Site, role: str) -> None:
    client = signed_in(make.member(job, role))
    assert "Frame stood" in words(client.get(base(job)))
    assert "Plans in force" in words(client.get(f"/s/{job.code}/plans"))
    begun = client.post(f"{base(job)}/begin", {"version": "1"})
    assert begun.status_code == (302 if role == Role.SUPERVISOR else 404)
    assert client.get(f"{base(job)}/draft").status_code == (200 if role == Role.SUPERVISOR else 404)
    assert client.get(f"{base(job)}/draft/preview").status_code == (200 if role == Role.SUPERVISOR else 404)


def test_a_strangers_and_another_sites_plans_are_not_there(job: Site, drawn: PlanDraft) -> None:
    stranger = signed_in(make.supervisor(make.site("depot")))
    for address in ("", "/draft", "/draft/preview"):
        assert stranger.get(base(job) + address).status_code == 404
    for act in ("begin", "draft/remove", "draft/undo", "draft/drop", "draft/restore", "draft/install"):
        assert stranger.post(f"{base(job)}/{act}", {"version": "1", "stage": "set"}).status_code == 404, act
    assert PlanDraft.objects.get() == drawn


def test_a_form_sent_as_it_was_changes_no_stage(job: Site, desk: Client, drawn: PlanDraft) -> None:
    before = stages(job)
    for code in before:
        assert change(job, desk, code).status_code == 302, code
    assert stages(job) == before
    assert list(stages(job)) == list(before)


def test_every_field_of_a_stage_is_changed_by_its_form(job: Site, desk: Client, drawn: PlanDraft) -> None:
    answer = change(
        job, desk, "match",
        title_en="Frame matched", title_es="Marco cotejado", trade="inspector", after=["receive", "layout"],
        covers=["receive"], hold_point="on", sign_roles=["inspector"], marks=["proves_open_wall"], weight="9",
        required_readings=["twist"], applies_when="rated", if_unknown="not_needed", following="layout",
        item0_en="", item0_es="", item1_expect="no", item1_spreaders="on", item5_en="Label there & legible?",
        item5_es="¿Etiqueta legible?",
    )  # fmt: skip
    assert answer.status_code == 302, words(answer)
    made = stages(job)["match"]
    assert (made.title.en, made.title.es, made.trade, made.weight) == (
        "Frame matched",
        "Marco cotejado",
        "inspector",
        9,
    )
    assert (made.after, made.covers, made.hold_point) == (("receive", "layout"), ("receive",), True)
    assert (made.sign_roles, made.marks, made.required_readings) == (("inspector",), ("proves_open_wall",), ("twist",))
    assert (made.applies_when, made.if_unknown) == (CONDITIONS["rated"][1], "not_needed")
    assert [item.code for item in made.checklist] == ["hand", "size", "reinforcement", "label", "label_there_legible"]
    assert (made.checklist[0].expect, made.checklist[0].proves_spreaders) == (False, True)
    assert list(stages(job)).index("match") == list(stages(job)).index("layout") + 1


def test_a_new_stage_is_drawn_and_waited_for(job: Site, desk: Client, drawn: PlanDraft) -> None:
    typed = {"code": "sill", "title_en": "Sill set", "title_es": "Umbral puesto", "trade": "flooring", "after": ["set"]}
    answer = change(job, desk, "%2B", **typed)
    assert answer.status_code == 302, words(answer)
    assert answer["Location"].endswith("/draft?stage=sill#stage")
    assert stages(job)["sill"].kind is Kind.WORK
    assert 'aria-label="Sill set, Flooring, work, waits for set"' in desk.get(f"{base(job)}/draft").content.decode()


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"code": "Set up"}, "code"),
        ({"code": "set"}, "code"),
        ({"title_es": ""}, "title_es"),
        ({"weight": "-1"}, "weight"),
        ({"weight": "many"}, "weight"),
        ({"trade": "plumber"}, "trade"),
        ({"item0_en": "Plumb?"}, "item0_es"),
        ({"title_en": "x" * 301}, "title_en"),
    ],
)
def test_a_refused_field_says_why_beside_it_and_nothing_is_lost(
    job: Site, desk: Client, drawn: PlanDraft, typed: dict[str, str], field: str
) -> None:
    right = {"code": "sill", "title_en": "Sill set", "title_es": "Umbral puesto", "trade": "flooring"}
    answer = change(job, desk, "%2B", **right | typed)
    assert answer.status_code == 422
    assert f'id="id_{field}_error"' in answer.content.decode()
    if "title_en" not in typed:
        assert 'value="Sill set"' in answer.content.decode()
    assert "sill" not in stages(job)


@pytest.mark.parametrize(
    ("language", "said"),
    [("en", "set waits for anchor waits for stud"), ("es", "set espera a anchor espera a stud")],
)
def test_what_is_wrong_is_said_in_words_and_keeps_it_from_being_installed(
    job: Site, desk: Client, drawn: PlanDraft, language: str, said: str
) -> None:
    change(job, desk, "set", after=["anchor"])
    page = desk.get(f"{base(job)}/draft?lang={language}")
    assert said in words(page)
    assert "draft/preview" not in page.content.decode()
    for answer in (
        desk.get(f"{base(job)}/draft/preview"),
        desk.post(f"{base(job)}/draft/install", {"based_on": "2", "why": "anyway"}),
    ):
        assert answer["Location"] == f"{base(job)}/draft"
    assert SequencePlan.objects.get(site=job, code="steel_stud").version == 1


def test_what_a_sound_plan_leaves_unwatched_is_said(job: Site, desk: Client, drawn: PlanDraft) -> None:
    change(job, desk, "set", marks=[])
    page = words(desk.get(f"{base(job)}/draft"))
    assert "Nothing is wrong with it" in page
    assert "No stage is marked as standing the frame" in page


def test_a_stage_taken_out_is_told_with_its_undo(job: Site, desk: Client, drawn: PlanDraft) -> None:
    before = stages(job)
    answer = desk.post(f"{base(job)}/draft/remove", {"based_on": "1", "stage": "stud"}, follow=True)
    assert "What it waited for is now waited for by: anchor" in words(answer)
    assert stages(job)["anchor"].after == ("set", "roughin")
    desk.post(f"{base(job)}/draft/undo", {"based_on": "2"})
    assert stages(job) == before


def test_a_change_to_a_draft_someone_else_changed_is_refused_and_kept_on_the_page(
    job: Site, desk: Client, drawn: PlanDraft
) -> None:
    stale = form_of(desk.get(f"{base(job)}/draft?stage=set"))
    change(job, desk, "stud", weight="5")
    answer = desk.post(f"{base(job)}/draft?stage=set", stale | {"title_en": "Frame planted"})
    assert answer.status_code == 409
    assert 'value="Frame planted"' in answer.content.decode()
    assert stages(job)["set"].title.en != "Frame planted"


def test_from_the_preview_to_the_version_in_force(job: Site, desk: Client, drawn: PlanDraft) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "stud")
    desk.post(f"{base(job)}/draft/remove", {"based_on": "1", "stage": "anchor"})
    page = words(desk.get(f"{base(job)}/draft/preview"))
    assert re.search(r"have a stage become ready 1", page)
    assert "Nothing has been changed yet" in page
    refused = desk.post(f"{base(job)}/draft/install", {"based_on": "2", "why": " "})
    assert refused.status_code == 422
    answer = desk.post(f"{base(job)}/draft/install", {"based_on": "2", "why": "No jamb anchors."}, follow=True)
    assert "Version 2 is in force; 1 opening follows it" in words(answer)
    assert "No jamb anchors." in words(answer)
    assert Progress.objects.get(pk=opening.pk).state["stages"]["trueness"]["state"] == "ready"
    assert desk.get(f"{base(job)}/draft").status_code == 404
    # The version before is put back by drawing from it.
    assert desk.post(f"{base(job)}/begin", {"version": "1"}).status_code == 302
    assert "anchor" in stages(job)


def test_how_much_of_a_big_site_was_looked_at_is_said(
    job: Site, desk: Client, drawn: PlanDraft, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sitetrack.desk.plan_preview_pages.MOST_LOOKED_AT", 2)
    make.openings(job, 3)
    assert "Looked at 2 of 3 openings" in words(desk.get(f"{base(job)}/draft/preview"))


def test_a_dropped_draft_comes_back_by_its_undo(job: Site, desk: Client, drawn: PlanDraft) -> None:
    desk.post(f"{base(job)}/draft/drop", {"based_on": "1"})
    assert desk.get(f"{base(job)}/draft").status_code == 404
    desk.post(f"{base(job)}/draft/restore", {"based_on": "2"})
    assert desk.get(f"{base(job)}/draft").status_code == 200


def test_titles_are_text_and_never_markup(job: Site, desk: Client, drawn: PlanDraft) -> None:
    change(job, desk, "set", title_en='<b onclick="x">&"', title_es="<i>")
    markup = desk.get(f"{base(job)}/draft?stage=stud").content.decode()
    assert "<b onclick" not in markup
    assert "&lt;b onclick" in markup


@pytest.mark.parametrize("code", ["steel_stud", "masonry", "existing_wall"])
def test_no_box_lies_on_another_and_every_wait_runs_down(job: Site, code: str) -> None:
    plan = SequencePlan.objects.get(site=job, code=code)
    stored = {"code": code, "name": plan.name, "wall_kind": plan.wall_kind, "stages": plan.stages}
    found = read_sheet(stored)
    layout = lay_out(found.stages)
    boxes = {box.stage.code: box for box in layout.boxes}
    assert list(boxes) == [stage.code for stage in found.stages]
    for one in boxes.values():
        assert one.x + BOX_WIDTH <= layout.width
        for other in boxes.values():
            apart = abs(one.x - other.x) >= BOX_WIDTH or abs(one.y - other.y) >= BOX_HEIGHT
            assert one is other or apart, (one.stage.code, other.stage.code)
        for before in one.stage.after:
            assert boxes[before].y < one.y
    # No line runs through a box that it neither leaves nor reaches.
    for line in layout.lines:
        for (x0, y0), (x1, y1) in zip(line.points, line.points[1:], strict=False):
            for box in boxes.values():
                crosses = min(x0, x1) < box.x + BOX_WIDTH and max(x0, x1) > box.x
                crosses = crosses and min(y0, y1) < box.y + BOX_HEIGHT and max(y0, y1) > box.y
                assert not crosses, (line, box.stage.code)


def test_as_many_questions_for_a_plan_of_many_openings_as_of_few(job: Site, desk: Client, drawn: PlanDraft) -> None:
    counts = []
    for more in (3, 27):
        make.openings(job, more)
        with CaptureQueriesContext(connection) as asked:
            for address in (f"/s/{job.code}/plans", base(job), f"{base(job)}/draft?stage=set"):
                assert desk.get(address).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_a_long_checklist_keeps_every_question(job: Site, drawn: PlanDraft, desk: Client) -> None:
    """As many as a plan document may hold; a form left alone drops none of them."""
    document = drawn.document
    match = next(stage for stage in document["stages"] if stage["code"] == "match")
    asked = {"text": {"en": "Is it?", "es": "¿Está?"}, "expect": True, "proves_spreaders": False}
    match["checklist"] = [{"code": f"question_{n}", **asked} for n in range(LONGEST_LIST)]
    PlanDraft.objects.filter(pk=drawn.pk).update(document=document)
    change(job, desk, "match", title_en="Matched")
    made = stages(job)["match"]
    assert made.title.en == "Matched"
    assert [item.code for item in made.checklist] == [f"question_{n}" for n in range(LONGEST_LIST)]
