"""The questions a program asks of the lists."""

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from openings.models import Opening, Site
from sitetrack.access.roles import Trade
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.lengths import parse_length
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic() -> Site:
    return b.site()


@pytest.fixture
def api(clinic: Site) -> b.APIClient:
    return b.client(b.supervisor(clinic))


def rows(api: b.APIClient, resource: str, **filters: Any) -> list[dict[str, Any]]:
    response = api.get(f"/api/v1/{resource}", filters)
    assert response.status_code == 200, response.content
    found: list[dict[str, Any]] = response.json()["results"]
    return found


def numbers(api: b.APIClient, **filters: Any) -> set[str]:
    return {row["number"] for row in rows(api, "openings", **filters)}


def test_openings_ready_for_a_trade_on_a_floor(api: b.APIClient, clinic: Site) -> None:
    upper = b.floor(clinic, "L2", level=2)
    proved, proved_above, waiting = (
        b.opening(clinic, "A1"),
        b.opening(clinic, "A2", on=upper),
        b.opening(clinic, "A3"),
    )
    for opening in (proved, proved_above):
        b.work_up_to(opening, "trueness")
    b.work_up_to(waiting, "set")
    assert numbers(api, ready_for="drywall") == {"A1", "A2"}
    assert numbers(api, ready_for="drywall", floor=upper.pk) == {"A2"}
    assert numbers(api, ready_for="framing") == {"A3"}
    assert numbers(api, next_trade="drywall") == {"A1", "A2"}
    assert numbers(api, next_stage="stud") == {"A3"}
    assert {r["number"] for r in rows(api, "stages", stage="board", state="ready")} == {"A1", "A2"}
    assert {r["number"] for r in rows(api, "stages", trade="framing", actionable="true")} == {"A3"}


def test_openings_held(api: b.APIClient, clinic: Site) -> None:
    held, free = b.opening(clinic, "A1"), b.opening(clinic, "A2")
    b.check_in(b.supervisor(clinic), held, "receive", "hold", note="wrong frame")
    b.check_in(b.supervisor(clinic), free, "receive")
    assert numbers(api, held="true") == {"A1"}
    assert numbers(api, held="false") == {"A2"}
    assert [r["reason"] for r in rows(api, "holds", open="true")] == ["wrong frame"]
    assert rows(api, "holds", open="false") == []


@pytest.mark.parametrize(
    ("filters", "found"),
    [
        ({"width": "36"}, "B1"),
        ({"width": "3'-0\""}, "B1"),
        ({"width": "914.4 mm"}, "B1"),
        ({"width__gte": "36 1/16"}, "B2"),
        ({"width__lte": "36"}, "B1 C3"),
        ({"height__gte": "7'-2\""}, "B2"),
        ({"number": "b1"}, "B1"),
        ({"number__contains": "b"}, "B1 B2"),
        ({"rating_minutes": "45"}, "B2"),
        ({"rating_minutes": "0"}, "B1"),
        ({"rating_minutes__gte": "20"}, "B2"),
        ({"hand": "LHR"}, "C3"),
        ({"construction": "knocked_down"}, "C3"),
        ({"electrified": "true"}, "B2"),
        ({"leaves": "2"}, "B2"),
        ({"in_schedule": "false"}, "C3"),
        ({"mark": "f9"}, "C3"),
        ({"wall": "w1"}, "B1 B2 C3"),
        ({"number__contains": "b", "rating_minutes": "45"}, "B2"),
    ],
    ids=str,
)
def test_openings_by_what_the_schedule_tells(
    api: b.APIClient, clinic: Site, filters: dict[str, str], found: str
) -> None:
    b.opening(clinic, "B1")
    b.opening(
        clinic, "B2", width=parse_length("6'-0\""), height=parse_length("88"), leaves=2, rating_minutes=45,
        electrified=True,
    )  # fmt: skip
    b.opening(
        clinic, "C3", width=parse_length("30"), hand="LHR", construction="knocked_down", mark="F9", in_schedule=False,
        rating_minutes=None,
    )  # fmt: skip
    assert numbers(api, **filters) == set(found.split())


def test_check_ins_of_a_company_in_a_week_of_the_sites_own_clock(clinic: Site) -> None:
    """Sunday 23:30 in Chicago is Monday in Greenwich and still the old week on the job."""
    crew = b.crew(clinic)
    opening = b.opening(clinic)
    chicago = ZoneInfo("America/Chicago")
    sunday_night = datetime(2026, 3, 1, 23, 30, tzinfo=chicago)
    monday = sunday_night + timedelta(hours=1)
    late = b.check_in(crew, opening, "receive", at=sunday_night)
    early = b.check_in(crew, opening, "match", at=monday, answers=b.MATCH_ANSWERS)
    company = str(late.company_id)
    b.check_in(b.supervisor(clinic), opening, "ffl", at=sunday_night)
    api = b.client(b.supervisor(clinic))

    def in_week(week: str, **more: Any) -> set[str]:
        return {row["id"] for row in rows(api, "check-ins", week=week, **more)}

    assert in_week("2026-W09", company=company) == {str(late.pk)}
    assert in_week("2026-W10", company=company) == {str(early.pk)}
    assert len(in_week("2026-W09")) == 2
    assert in_week("2020-W53") == set()
    check_problem(api.get("/api/v1/check-ins?week=2021-W53"), 422, "bad-input")


def test_each_site_counts_its_week_on_its_own_clock() -> None:
    chicago, auckland = b.site(), b.site(time_zone="Pacific/Auckland")
    both = b.supervisor(chicago)
    b.Membership.objects.create(site=auckland, person=both, company=b.company(), role="supervisor")
    sunday_in_greenwich = datetime(2026, 3, 1, 18, tzinfo=ZoneInfo("UTC"))
    for site in (chicago, auckland):
        b.check_in(both, b.opening(site), at=sunday_in_greenwich)
    api = b.client(both)
    assert {r["site"] for r in rows(api, "check-ins", week="2026-W09")} == {str(chicago.pk)}
    assert {r["site"] for r in rows(api, "check-ins", week="2026-W10")} == {str(auckland.pk)}


def test_check_ins_by_stage_action_verdict_and_time(api: b.APIClient, clinic: Site) -> None:
    crew, opening = b.crew(clinic), b.opening(clinic, "A1")
    b.check_in(crew, opening)
    good = b.frame_check(crew, opening, at=b.MONDAY + b.DAY)
    bad = b.frame_check(crew, opening, readings=b.TWISTED_READINGS, at=b.MONDAY + b.DAY * 2)
    noon = rfc3339(b.MONDAY + b.DAY)

    def ids(**filters: str) -> set[str]:
        return {row["id"] for row in rows(api, "check-ins", **filters)}

    assert ids(stage="trueness") == {str(good.pk), str(bad.pk)}
    assert ids(verdict="fail") == {str(bad.pk)}
    assert ids(happened_after=noon) == {str(bad.pk)}
    assert ids(received_after=noon) == {str(bad.pk)}
    assert ids(number="a1", action="finish", received_before=noon, stage="receive") != set()
    assert ids(action="sign") == set()
    assert {r["id"] for r in rows(api, "frame-checks", verdict="pass")} == {str(good.pk)}


def test_alerts_open_by_rule_and_severity(api: b.APIClient, clinic: Site) -> None:
    opening = b.opening(clinic)
    first = b.alert(opening)
    second = b.alert(opening, "readings-contradict", severity="warning")
    closed = b.alert(opening, closed_at=b.MONDAY, closed_how="evidence", closed_why="explained")

    def ids(**filters: str) -> set[str]:
        return {row["id"] for row in rows(api, "alerts", **filters)}

    assert ids(open="true") == {str(first.pk), str(second.pk)}
    assert ids(open="false") == {str(closed.pk)}
    assert ids(open="true", rule="boarded-before-checked") == {str(first.pk)}
    assert ids(severity="warning") == {str(second.pk)}
    assert ids(acknowledged="false") == {str(first.pk), str(second.pk), str(closed.pk)}
    assert ids(acknowledged="true") == set()
    check_problem(api.get("/api/v1/alerts?rule=anything"), 422, "bad-input")


def test_items_kept_aside_that_wait(api: b.APIClient, clinic: Site) -> None:
    hand, opening = b.crew(clinic, Trade.FRAME_CREW), b.opening(clinic)
    b.record(hand, b.report(opening, "polish"), of=clinic)
    (waiting,) = rows(api, "kept-aside", waiting="true")
    assert waiting["payload"]["stage"] == "polish"
    assert rows(api, "kept-aside", waiting="false") == []


@pytest.mark.parametrize(
    "query",
    [
        "openings?held=maybe", "openings?width=wide", "openings?width__gte=1/0", "openings?hand=left",
        "openings?ready_for=plumber", "openings?rating_minutes=-1", "openings?rating_minutes=1e99",
        "openings?floor=upstairs", "openings?changed_after=yesterday", "openings?number=%00", "openings?leaves=NaN",
        "check-ins?week=now", "check-ins?action=done", "check-ins?received_after=5", "alerts?open=1",
        "stages?state=broken", "floors?due_before=soon",
    ],
)  # fmt: skip
def test_a_filter_that_cannot_be_read_is_refused_and_named(api: b.APIClient, query: str) -> None:
    refused = check_problem(api.get(f"/api/v1/{query}"), 422, "bad-input")
    assert refused["errors"][0]["field"] == query.partition("?")[2].partition("=")[0]


def test_lengths_are_answered_in_the_sites_units() -> None:
    for units, text in (("imperial", '36"'), ("metric", "914.4 mm")):
        site = b.site(units=units)
        b.opening(site)
        (row,) = rows(b.client(b.supervisor(site)), "openings")
        assert row["width"] == {"text": text, "in": 36.0, "mm": 914.4}


def test_what_the_schedule_does_not_tell_is_null_or_empty_and_never_zero(api: b.APIClient, clinic: Site) -> None:
    unknown: dict[str, Any] = dict.fromkeys(
        ["width", "height", "leaves", "rating_minutes", "electrified", "jamb_depth", "covering_thickness"]
    )
    Opening.objects.filter(pk=b.opening(clinic).pk).update(wall=None, hand="", **unknown)
    (row,) = rows(api, "openings")
    assert {name: row[name] for name in unknown} == unknown
    assert (row["hand"], row["wall"], row["progress"]) == ("", "", None)
