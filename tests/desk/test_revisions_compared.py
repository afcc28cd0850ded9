"""Two revisions side by side: what the later says otherwise, opening by opening and fact by fact."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from openings.models import Opening, ScheduleChange, ScheduleRevision, Site
from openings.selectors.revisions import differences
from openings.services.edit import edit_openings
from tests import builders as make
from tests.desk.looking import words

pytestmark = pytest.mark.django_db
DAYS = [make.MONDAY + timedelta(days=n) for n in range(6)]


def revision(job: Site, n: int, at: datetime, *rows: tuple[Opening, str, str, str, str]) -> ScheduleRevision:
    who = make.supervisor(job)
    made = ScheduleRevision.objects.create(
        site=job, n=n, file_name="doors.csv", file_digest="0" * 64, taken_in_at=at, taken_in_by=who
    )
    for opening, kind, field, before, after in rows:
        ScheduleChange.objects.create(
            site=job, revision=made, opening=opening, at=at, by=who, kind=kind, field=field, before=before, after=after
        )
    return made


@pytest.fixture
def doors(job: Site) -> dict[str, Opening]:
    """Three revisions of four openings, and a correction by hand between the second and the third."""
    doors = {number: make.opening(job, number, hand="RH") for number in ("101", "102", "103", "104")}
    a, b, c, d = doors.values()
    revision(job, 1, DAYS[0], *[(door, "added", "", "", "") for door in (a, b, c)])
    revision(
        job,
        2,
        DAYS[1],
        (a, "changed", "hand", "LH", "LHR"),
        (b, "changed", "mark", "F1", "F2"),
        (c, "missing", "", "", ""),
    )
    edit_openings(site=job, versions={b.pk: b.version}, facts={"hand": "LH"}, who=make.supervisor(job), now=DAYS[2])
    revision(
        job, 3, DAYS[3], (a, "changed", "hand", "LHR", "RH"), (b, "changed", "mark", "F2", "F1"),
        (c, "back", "", "", ""), (d, "added", "", "", ""),
    )  # fmt: skip
    return doors


def told(job: Site, first: int, last: int | None) -> set[tuple[str, str, Any, str, str]]:
    at = dict(ScheduleRevision.objects.values_list("n", "taken_in_at"))
    found = differences(job, make.supervisor(job), after=at[first], until=at[last] if last else None)
    return {(r.opening.number, r.field, r.first_before, r.after, r.kind) for r in found}


def test_what_went_back_does_not_show_and_what_changed_twice_shows_its_ends(
    job: Site, doors: dict[str, Opening]
) -> None:
    assert told(job, 1, 2) == {
        ("101", "hand", "LH", "LHR", "changed"), ("102", "mark", "F1", "F2", "changed"), ("103", "", "", "", "missing"),
    }  # fmt: skip
    # 102 is F1 again, 103 listed again; 102's hand was corrected by hand in between.
    assert told(job, 1, 3) == {
        ("101", "hand", "LH", "RH", "changed"), ("102", "hand", "RH", "LH", "changed"), ("104", "", "", "", "added"),
    }  # fmt: skip
    assert told(job, 3, None) == set()


def test_the_page_compares_narrows_and_takes_the_earlier_first(
    job: Site, desk: Client, doors: dict[str, Opening]
) -> None:
    page = words(desk.get("/s/clinic/schedule/compare?from=3&to=1"))
    assert "3 differences" in page
    assert "Hand LH RH" in page
    assert "1 difference " in words(desk.get("/s/clinic/schedule/compare?from=1&to=3&field=listed"))
    assert "104" in words(desk.get("/s/clinic/schedule/compare?from=1&to=3&field=listed"))
    assert "1 difference " in words(desk.get("/s/clinic/schedule/compare?from=1&to=3&number=102"))
    assert "The two say the same" in words(desk.get("/s/clinic/schedule/compare?from=3"))
    for rubbish in ("from=99&to=x", "from=-1", "page=zz", "field=%00", "number=%27"):
        assert desk.get(f"/s/clinic/schedule/compare?{rubbish}").status_code == 200


def test_without_revisions_there_is_nothing_to_compare(job: Site, desk: Client) -> None:
    assert "nothing to compare" in words(desk.get("/s/clinic/schedule/compare"))


def test_comparing_asks_as_much_for_many_openings_as_for_few(
    job: Site, desk: Client, doors: dict[str, Opening]
) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            desk.get("/s/clinic/schedule/compare?from=1&to=3")
        return len(queries)

    asked()
    few = asked()
    revision(job, 4, DAYS[4])
    who = make.supervisor(job)
    for n in range(30):
        ScheduleChange.objects.create(
            site=job,
            opening=make.opening(job, f"2{n:02}"),
            at=DAYS[2],
            by=who,
            kind="changed",
            field="mark",
            after="F5",
        )
    assert asked() == few
