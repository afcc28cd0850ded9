"""The settings of a site: changed by its supervisor, on record, with what follows from them."""

from typing import Any

import pytest
from django.test import Client

from inspections.models import ToleranceProfile
from inspections.services.profiles import current_profile, prepared_profile
from openings.models import Site
from openings.services.site_settings import SETTINGS
from sitetrack.access.models.changes import Kind, RecordedChange
from sitetrack.access.roles import Role
from tests import builders as make
from tests.desk.looking import press_undo, signed_in, words

pytestmark = pytest.mark.django_db
AS_IT_IS = {
    "name": "Site clinic", "time_zone": "America/Chicago", "units": "imperial", "language": "en", "report_weekday": "1",
    "report_hour": "5", "hold_limit_days": "3", "signer_differs_from_reader": "on",
}  # fmt: skip


def send(client: Client, job: Site, **typed: Any) -> Any:
    return client.post(f"/s/{job.code}/site", {n: v for n, v in (AS_IT_IS | typed).items() if v is not None})


def test_settings_sent_as_they_are_change_nothing(job: Site, desk: Client) -> None:
    assert send(desk, job).status_code == 302
    assert not RecordedChange.objects.filter(kind=Kind.SITE).exists()


def test_settings_are_kept_and_each_is_on_record(job: Site, desk: Client) -> None:
    counter = job.change_counter
    answer = send(desk, job, name="Clinic, phase 2", time_zone="America/Denver", hold_limit_days="5")
    assert answer.status_code == 302
    job.refresh_from_db()
    assert (job.name, job.time_zone, job.hold_limit_days) == ("Clinic, phase 2", "America/Denver", 5)
    assert job.change_counter == counter
    told = {field: (before, after) for field, before, after in RecordedChange.objects.get(kind=Kind.SITE).differences}
    assert told == {
        "name": ("Site clinic", "Clinic, phase 2"),
        "time_zone": ("America/Chicago", "America/Denver"),
        "hold_limit_days": ("3", "5"),
    }


def test_settings_changed_by_mistake_are_undone(job: Site, desk: Client) -> None:
    before = {name: getattr(job, name) for name in SETTINGS}
    changed = {"name": "Wrong job", "units": "metric", "signer_differs_from_reader": None, "starts_on": "2026-03-02"}
    press_undo(desk, send(desk, job, **changed))
    job.refresh_from_db()
    assert {name: getattr(job, name) for name in SETTINGS} == before
    assert prepared_profile(current_profile(job, make.MONDAY).pk).units == "imperial"


def test_other_units_make_the_next_version_of_the_tolerances_in_those_units(job: Site, desk: Client) -> None:
    before = prepared_profile(current_profile(job, make.MONDAY).pk)
    assert "Have every phone send what it holds first" in words(desk.get(f"/s/{job.code}/site"))
    send(desk, job, units="metric")
    latest = ToleranceProfile.objects.filter(site=job).order_by("-version")[0]
    after = prepared_profile(latest.pk)
    assert (latest.version, after.units) == (2, "metric")
    assert after.plumb == before.plumb  # the same length from the same source, said in other units
    assert RecordedChange.objects.filter(kind=Kind.PROFILE).count() == 1


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": ""}, "name"),
        ({"time_zone": "Chicago"}, "time_zone"),
        ({"report_hour": "24"}, "report_hour"),
        ({"hold_limit_days": "-1"}, "hold_limit_days"),
        ({"starts_on": "2026-05-01", "ends_on": "2026-04-01"}, "ends_on"),
        ({"starts_on": "soon"}, "starts_on"),
    ],
)
def test_a_refused_setting_says_why_beside_it(job: Site, desk: Client, typed: dict[str, str], field: str) -> None:
    answer = send(desk, job, **{"name": "Kept on the page"} | typed)
    assert answer.status_code == 422
    assert f'id="id_{field}_error"' in answer.content.decode()
    job.refresh_from_db()
    assert job.name == "Site clinic"


@pytest.mark.parametrize("role", sorted(set(Role.values) - {Role.SUPERVISOR}))
def test_others_read_and_cannot_change(job: Site, role: str) -> None:
    client = signed_in(make.member(job, role))
    assert "Keep the settings" not in words(client.get(f"/s/{job.code}/site"))
    assert send(client, job, name="Mine").status_code == 403
    job.refresh_from_db()
    assert job.name == "Site clinic"


def test_a_stranger_finds_no_settings(job: Site) -> None:
    client = signed_in(make.supervisor(make.site("depot")))
    assert client.get(f"/s/{job.code}/site").status_code == 404
    assert send(client, job).status_code == 404
