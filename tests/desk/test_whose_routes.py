"""Every route below a site × reading and acting × everyone who may come: what opens, what changes, what does neither.

The table names the exceptions; a route in no table is every role's to read, and nobody's to change anything by. A form
that changes something for those it is for must change nothing at all for anybody else. The API has its own table in
tests/inspections/api/test_scope.py.
"""

from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.test import Client

from inspections.tasks import raise_alerts
from openings.models import Site
from openings.selectors.facts import can_be_number
from sitetrack.access.models import Membership
from sitetrack.access.roles import Trade
from sitetrack.access.services.invitations import Asked, Standing, invite
from sitetrack.access.services.people import end_standing
from sitetrack.kit.clock import now
from sitetrack.reports.mailing_list import Entry, add_reader
from tests import builders as make
from tests.desk.every_page import ACTIONS, FILES, PAGES, Job, a_job_with_everything
from tests.desk.every_route import address, bodies, pages_behind_a_number, parts_of, rows, site_routes
from tests.desk.looking import signed_in

pytestmark = pytest.mark.django_db
ALL = {"supervisor", "inspector", "crew", "viewer"}
CHIEF, ANSWER, WHOLE, REPORT = {"supervisor"}, {"supervisor", "inspector"}, ALL - {"crew"}, ALL - {"viewer"}
# Who reads, where that is not every role of the site.
READ_BY = {
    "desk:mute": ANSWER,
    **dict.fromkeys(("setup:changes", "setup:changes-csv", "setup:people", "setup:person"), CHIEF),
    **dict.fromkeys(("setup:person-remove", "setup:webhooks", "setup:mailing"), CHIEF),
    **dict.fromkeys(("desk:schedule-draft", "desk:schedule-progress", "desk:schedule-add"), CHIEF),
    **dict.fromkeys(("desk:opening-edit", "setup:kept-aside"), CHIEF),
    "setup:companies": WHOLE,
}
# Who changes something, by the forms of `every_route.bodies`.
CHANGED_BY = {
    **dict.fromkeys(("desk:acknowledge", "desk:acknowledge-chosen", "desk:close"), ANSWER),
    **dict.fromkeys(("desk:schedule-draft", "desk:schedule-let-go"), CHIEF),
    "desk:opening": REPORT,
    "desk:mute-lift": ANSWER,
    "desk:alert-mail": ALL,
    "reports:calendar-key": ALL,
    **dict.fromkeys(("desk:mail-again", "setup:webhook-secret", "setup:webhook-stop", "setup:webhooks"), CHIEF),
    **dict.fromkeys(("setup:person", "setup:person-remove", "setup:person-invite"), CHIEF),
    **dict.fromkeys(("setup:invitation-again", "setup:invitation-withdraw", "setup:mailing-remove"), CHIEF),
    **dict.fromkeys(("setup:webhook-test", "setup:webhook-again", "setup:mailing", "setup:phone-stop"), CHIEF),
    "setup:floor-new": CHIEF,
    "desk:weekly-issue": CHIEF,
    **dict.fromkeys(("setup:phone-code", "setup:kept-aside-discard", "setup:kept-aside-place"), CHIEF),
}


@pytest.fixture
def whole(job: Site, settings: Any, tmp_path: Path) -> Job:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    made = a_job_with_everything(job, tmp_path)
    asked = Asked("w@example.com")
    invite(site_id=job.pk, asked=asked, standing=Standing("viewer", "Office"), who=made.chief, now=now())
    add_reader(site=job, entry=Entry("r@example.com"), who=made.chief, now=now())
    raise_alerts()  # what the server does by itself is done before anybody comes
    return made


def status_of(answer: Any) -> int:
    """How it was answered; a file is read to its end, so that it is closed."""
    if answer.streaming:
        list(answer.streaming_content)
    return int(answer.status_code)


def test_every_route_of_a_site_is_in_a_table() -> None:
    known = set(PAGES) | ACTIONS | FILES
    assert set(site_routes()) <= known
    assert set(READ_BY) | set(CHANGED_BY) <= set(site_routes())


def test_what_opens_and_what_changes_for_whom(whole: Job) -> None:
    site, parts, forms, before = whole.site, parts_of(whole), bodies(whole), rows()
    come = {
        "supervisor": signed_in(whole.chief),
        "inspector": signed_in(make.inspector(site)),
        "crew": signed_in(make.crew(site, Trade.PAINTER)),
        "viewer": signed_in(make.viewer(site)),
    }
    before, wrong = rows(), []
    for name in site_routes():
        where = address(name, parts)
        for role, client in come.items():
            found = status_of(client.get(where))
            if found not in {404, 405}:  # what is not there for anybody (a picture, a draft) is its own tests' business
                if (found != 403) != (role in READ_BY.get(name, ALL)):
                    wrong.append((name, role, "GET", found))
            elif found == 404 and name in PAGES and role in READ_BY.get(name, ALL) and PAGES[name](whole):
                wrong.append((name, role, "GET", found))
            with transaction.atomic():
                sent = client.post(where, forms.get(name, {})).status_code
                changed = sent not in {403, 404, 405} and rows() != before
                transaction.set_rollback(True)
            if changed != (role in CHANGED_BY.get(name, ())):
                wrong.append((name, role, "POST", sent, changed))
    assert not wrong, "\n".join(map(str, wrong))


def test_strangers_the_signed_out_and_the_removed_reach_nothing(whole: Job) -> None:
    parts, forms = parts_of(whole), bodies(whole)
    hand = make.crew(whole.site)
    removed = signed_in(hand)
    end_standing(membership=Membership.objects.get(person=hand), who=whole.chief, now=now())
    hand.refresh_from_db()
    removed.force_login(hand)  # signed in anew, and of no site
    depot = make.site("depot")
    come = {"stranger": signed_in(make.supervisor(depot)), "removed": removed, "signed out": Client()}
    before, wrong = rows(), []
    for name in site_routes():
        for who, client in come.items():
            for method in ("get", "post"):
                answer = getattr(client, method)(address(name, parts), forms.get(name, {}) if method == "post" else {})
                out = answer.status_code == 302 and answer["Location"].startswith("/sign-in")
                if not (out if who == "signed out" else answer.status_code == 404) and answer.status_code != 405:
                    wrong.append((name, who, method, answer.status_code))
    assert not wrong, "\n".join(map(str, wrong))
    assert rows() == before


def test_what_is_of_another_site_is_not_reached_through_ones_own(whole: Job) -> None:
    """A supervisor of another site, at their own site's address with the keys of this one's things."""
    depot = make.site("depot")
    chief = signed_in(make.supervisor(depot))
    parts, forms, before, wrong = parts_of(whole) | {"code": depot.code}, bodies(whole), rows(), []
    for name, needed in site_routes().items():
        # An opening's number, a plan's code, a week or a kind is each site's own word for its own things.
        if not any(part.endswith("_id") or part == "digest" for part in needed):
            continue
        for method in ("get", "post"):
            answer = getattr(chief, method)(address(name, parts), forms.get(name, {}) if method == "post" else {})
            refused_in_words = name == "desk:check-in-undo"  # as one that never was; the rows below stay as they are
            if answer.status_code not in {404, 405} and not refused_in_words:
                wrong.append((name, method, answer.status_code))
    assert not wrong, "\n".join(map(str, wrong))
    assert rows() == before


def test_a_person_of_two_sites_and_companies_is_on_each_what_they_are_there(whole: Job) -> None:
    here, there = whole.site, make.site("depot")
    both = make.viewer(here)
    Membership.objects.create(
        site=there, person=both, company=make.company(), role="supervisor", trades=[], began_at=make.MONDAY
    )
    client = signed_in(both)
    assert client.get(f"/s/{here.code}/people").status_code == 403
    assert client.get("/s/depot/people").status_code == 200
    end_standing(membership=Membership.objects.get(site=here, person=both), who=whole.chief, now=now())
    both.refresh_from_db()
    client.force_login(both)
    assert client.get(f"/s/{here.code}/today").status_code == 404
    assert client.get("/s/depot/people").status_code == 200


def test_no_opening_can_be_called_what_the_address_of_one_of_its_pages_ends_in() -> None:
    words = pages_behind_a_number()
    assert "takeoff" in words
    assert [word for word in sorted(words) if can_be_number(f"101/{word}")] == []
