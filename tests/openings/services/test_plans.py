"""Plans drawn as a draft and installed as a version that the openings then follow."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from openings.models import DirtyOpening, Opening, PlanDraft, SequencePlan, Site
from openings.sequence.checking import PlanError
from openings.sequence.plan_document import read_sheet
from openings.sequence.plan_editing import take_out
from openings.services import plans
from sitetrack.access.models.changes import Kind, RecordedChange
from sitetrack.access.roles import Role
from sitetrack.kit.problems import BadInput, Conflict, Forbidden
from tests import builders as b

pytestmark = pytest.mark.django_db
LATER = b.MONDAY + timedelta(days=3)
READINGS = set(b.TRUE_READINGS)


@pytest.fixture
def site() -> Site:
    return b.site()


def in_force(site: Site, code: str = "steel_stud") -> SequencePlan:
    return SequencePlan.objects.get(site=site, code=code, current=True)


def drafted(site: Site) -> PlanDraft:
    return plans.begin_draft(plan=in_force(site), who=b.supervisor(site), now=LATER)


def without(site: Site, draft: PlanDraft, code: str) -> PlanDraft:
    sheet = take_out(read_sheet(draft.document), code)
    return plans.change_draft(draft=draft, sheet=sheet, based_on=draft.version, who=b.supervisor(site), now=LATER)


def installed(site: Site, draft: PlanDraft, why: str = "No painter on this job.") -> tuple[SequencePlan, list]:
    who = b.supervisor(site)
    return plans.install_draft(draft=draft, readings=READINGS, based_on=draft.version, why=why, who=who, now=LATER)


def test_a_draft_says_what_the_plan_in_force_says_and_changes_nothing(site: Site) -> None:
    before = in_force(site)
    draft = without(site, drafted(site), "flooring")
    assert read_sheet(plans.document_of(before)).stages == read_sheet(draft.previous).stages
    assert in_force(site) == before
    assert "flooring" in {stage["code"] for stage in in_force(site).stages}


def test_installing_makes_the_next_version_and_every_opening_of_the_plan_follows_it(site: Site) -> None:
    studded, block = b.openings(site, 3), b.opening(site, plan="masonry")
    elsewhere = b.opening(b.site())
    DirtyOpening.objects.all().delete()
    counter = Site.objects.get(pk=site.pk).change_counter
    plan, moved = installed(site, without(site, drafted(site), "finish"))
    assert (plan.version, plan.made_by, plan.made_at, plan.why) == (
        2, b.supervisor(site), LATER, "No painter on this job.",
    )  # fmt: skip
    assert SequencePlan.objects.get(site=site, code="steel_stud", version=1).current is False
    assert set(moved) == {o.pk for o in studded} == set(DirtyOpening.objects.values_list("opening", flat=True))
    after = Opening.objects.filter(pk__in=moved)
    assert {o.plan_id for o in after} == {plan.pk}
    # Numbered anew, each its own, so that a phone is told of every one of them.
    assert sorted(o.seq for o in after) == [counter + n for n in (1, 2, 3)]
    assert {Opening.objects.get(pk=o.pk).plan_id for o in (block, elsewhere)} == {block.plan_id, elsewhere.plan_id}


def test_who_installed_what_and_why_is_on_the_trail(site: Site) -> None:
    b.opening(site)
    installed(site, without(site, drafted(site), "finish"))
    told = RecordedChange.objects.get(site=site, kind=Kind.PLAN)
    differences = {field: (before, after) for field, before, after in told.differences}
    assert differences["version"] == ("1", "2")
    assert differences["reason"] == ("", "No painter on this job.")
    assert differences["openings"] == ("", "1")


def test_an_unsound_draft_is_not_installed_and_changes_nothing(site: Site) -> None:
    draft = drafted(site)
    sheet = read_sheet(draft.document | {"stages": [s | {"after": [s["code"]]} for s in draft.document["stages"][:1]]})
    draft = plans.change_draft(draft=draft, sheet=sheet, based_on=1, who=b.supervisor(site), now=LATER)
    with pytest.raises(PlanError, match="receive waits for receive"):
        installed(site, draft)
    assert in_force(site).version == 1
    assert PlanDraft.objects.get().dropped_at is None


def test_a_reading_nobody_can_take_is_refused(site: Site) -> None:
    draft = drafted(site)
    asking = [s | {"required_readings": ["wobble"]} if s["code"] == "trueness" else s for s in draft.document["stages"]]
    sheet = read_sheet(draft.document | {"stages": asking})
    draft = plans.change_draft(draft=draft, sheet=sheet, based_on=1, who=b.supervisor(site), now=LATER)
    with pytest.raises(PlanError, match="wobble"):
        installed(site, draft)


def test_a_version_is_installed_with_a_reason(site: Site) -> None:
    with pytest.raises(BadInput):
        installed(site, drafted(site), why="  ")


def test_of_two_who_draw_at_once_the_second_is_told(site: Site) -> None:
    draft = drafted(site)
    without(site, draft, "finish")
    with pytest.raises(Conflict, match="since you opened it"):
        without(site, draft, "flooring")
    with pytest.raises(Conflict):
        installed(site, draft)


def test_the_last_change_is_taken_back_once(site: Site) -> None:
    draft = drafted(site)
    changed = without(site, draft, "finish")
    who = b.supervisor(site)
    back = plans.take_back_change(draft=changed, based_on=changed.version, who=who, now=LATER)
    assert back.document == draft.document
    with pytest.raises(Conflict):
        plans.take_back_change(draft=back, based_on=back.version, who=who, now=LATER)


def test_a_dropped_draft_is_brought_back_until_another_is_begun(site: Site) -> None:
    draft, who = without(site, drafted(site), "finish"), b.supervisor(site)
    dropped = plans.drop_draft(draft=draft, based_on=draft.version, who=who, now=LATER)
    back = plans.restore_draft(draft=dropped, based_on=dropped.version, who=who, now=LATER)
    assert back.document == draft.document
    dropped = plans.drop_draft(draft=back, based_on=back.version, who=who, now=LATER)
    drafted(site)
    with pytest.raises(Conflict):
        plans.restore_draft(draft=dropped, based_on=dropped.version, who=who, now=LATER)


def test_an_older_version_is_made_the_draft_again(site: Site) -> None:
    first = in_force(site)
    installed(site, without(site, drafted(site), "finish"))
    draft = plans.begin_draft(plan=first, who=b.supervisor(site), now=LATER)
    plan, _moved = installed(site, draft, "The painter is back.")
    assert plan.version == 3
    assert [s["code"] for s in plan.stages] == [s["code"] for s in first.stages]


def test_a_plan_has_one_draft_at_a_time(site: Site) -> None:
    drafted(site)
    with pytest.raises(Conflict):
        drafted(site)


@pytest.mark.parametrize("role", sorted(set(Role.values) - {Role.SUPERVISOR}))
def test_only_a_supervisor_draws_and_installs(site: Site, role: str) -> None:
    other, draft = b.member(site, role), drafted(site)
    sheet = read_sheet(draft.document)
    for attempt in (
        lambda: plans.begin_draft(plan=in_force(site, "masonry"), who=other, now=LATER),
        lambda: plans.change_draft(draft=draft, sheet=sheet, based_on=1, who=other, now=LATER),
        lambda: plans.take_back_change(draft=draft, based_on=1, who=other, now=LATER),
        lambda: plans.drop_draft(draft=draft, based_on=1, who=other, now=LATER),
        lambda: plans.restore_draft(draft=draft, based_on=1, who=other, now=LATER),
        lambda: plans.install_draft(draft=draft, readings=READINGS, based_on=1, why="because", who=other, now=LATER),
    ):
        with pytest.raises(Forbidden):
            attempt()


def test_as_many_questions_for_thirty_openings_as_for_three(site: Site) -> None:
    counts = []
    for more in (3, 27):
        b.openings(site, more)
        draft = drafted(site)
        with CaptureQueriesContext(connection) as asked:
            installed(site, draft)
        counts.append(len(asked))
    assert counts[0] == counts[1]
