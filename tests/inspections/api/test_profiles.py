"""A site's tolerances over the API: versions, who makes them, and what they leave alone."""

from typing import Any

import pytest

from inspections.models import FrameCheck, ToleranceProfile
from openings.models import Opening, Site
from sitetrack.access.roles import Role
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db

ADDRESS = "/api/v1/profiles"
# 1/16 in out of plumb: exactly at the published limit, and out by any tighter one.
AT_THE_LIMIT = b.TRUE_READINGS | {"hinge_plumb_face": "1/16", "twist": "-1/16"}


@pytest.fixture
def job() -> Site:
    return b.site()


@pytest.fixture
def opening(job: Site) -> Opening:
    return b.opening(job)


def ask(job: Site, changes: Any, *, who: Any = None, **more: Any) -> Any:
    return b.client(who or b.supervisor(job)).post(ADDRESS, {"site": str(job.pk), "changes": changes, **more})


def test_a_change_is_the_next_version_and_is_judged_by_from_then_on(job: Site, opening: Opening) -> None:
    before = b.frame_check(b.crew(job), opening, readings=AT_THE_LIMIT)
    answer = ask(job, {"plumb": "1/32"}, said_in="Memo 7")
    assert answer.status_code == 201, answer.content
    made = answer.json()
    assert made["version"] == 2
    assert made["data"]["plumb"] == {"value": "1/32", "unit": "in", "source": "Memo 7", "edition": "", "mark": "site"}
    assert made["made_by"] == str(b.supervisor(job).pk)
    after = b.frame_check(b.crew(job), opening, readings=AT_THE_LIMIT, at=b.MONDAY + b.DAY)
    verdicts = {check.check_in_id: (check.profile.version, check.verdict) for check in FrameCheck.objects.all()}
    assert verdicts == {before.pk: (1, "pass"), after.pk: (2, "fail")}


def test_every_version_stays_to_be_read(job: Site) -> None:
    ask(job, {"plumb": "1/32"})
    ask(job, {"plumb": None})
    rows = b.client(b.viewer(job)).get(ADDRESS, {"site": str(job.pk), "ordering": "-version"}).json()["results"]
    assert [(row["version"], row["data"]["plumb"]["value"]) for row in rows] == [(3, "1/16"), (2, "1/32"), (1, "1/16")]


def test_the_same_again_makes_no_version(job: Site) -> None:
    first, again = (ask(job, {"plumb": "1/32"}).json()["id"] for _ in range(2))
    assert first == again
    assert ToleranceProfile.objects.filter(site=job).count() == 2


def test_a_change_made_on_an_old_version_is_refused(job: Site) -> None:
    ask(job, {"plumb": "1/32"})
    check_problem(ask(job, {"twist": "1/8"}, based_on=1), 409, "conflict")
    assert ask(job, {"twist": "1/8"}, based_on=2).json()["version"] == 3


@pytest.mark.parametrize("role", sorted(set(Role.values) - {Role.SUPERVISOR}))
def test_only_a_supervisor_sets_tolerances(job: Site, role: str) -> None:
    check_problem(ask(job, {"plumb": "1/8"}, who=b.member(job, role)), 403)
    assert not ToleranceProfile.objects.filter(site=job).exists()


def test_a_site_one_does_not_see_has_no_tolerances_to_set(job: Site) -> None:
    check_problem(ask(job, {"plumb": "1/8"}, who=b.supervisor(b.site())), 404)


def test_a_token_of_one_site_sets_nothing_on_another(job: Site) -> None:
    who = b.supervisor(job)
    _, token = b.device(b.site(who=who), who)
    check_problem(b.client(token=token).post(ADDRESS, {"site": str(job.pk), "changes": {"plumb": "1/8"}}), 404)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"plumb": "0"}, "profile.plumb"),
        ({"plumb": "a bit"}, "profile.plumb"),
        ({"plum": "1/8"}, "profile.plum"),
        ({"units": "metric"}, "profile.units"),
        ({"required": ["heft"]}, "profile.required"),
        ({}, "changes"),
        ([], "changes"),
    ],
    ids=str,
)
def test_a_change_that_cannot_be_used_names_its_field_and_makes_nothing(job: Site, changes: Any, field: str) -> None:
    refused = check_problem(ask(job, changes), 422, "bad-input")
    assert refused["errors"][0]["field"] == field
    assert not ToleranceProfile.objects.filter(site=job, version__gt=1).exists()


def test_a_version_is_neither_changed_nor_removed(job: Site) -> None:
    address = f"{ADDRESS}/{ask(job, {'plumb': '1/32'}).json()['id']}"
    api = b.client(b.supervisor(job))
    for ask_for in (api.put, api.patch, api.delete):
        check_problem(ask_for(address, {}), 405)
