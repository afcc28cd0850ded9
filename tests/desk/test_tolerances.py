"""The tolerances sheet: every limit with its source, changed by the supervisor, version by version."""

import re
from html import unescape
from typing import Any

import pytest
from django.test import Client

from inspections.models import ToleranceProfile
from inspections.standards.anchors import ANCHOR_RULE_SETS
from inspections.standards.clearances import GAP_RULES
from inspections.trueness.profile import DEFAULT_PROFILE
from inspections.trueness.profile import ToleranceProfile as Profile
from openings.models import Site
from sitetrack.access.roles import Role
from sitetrack.desk.tolerances_form import limits_of, shown_settings
from sitetrack.desk.trueness_words import GAP_RULE_TITLES, LIMITS, RULE_SET_TITLES
from sitetrack.kit.lengths import parse_length
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def address(job: Site) -> str:
    return f"/s/{job.code}/tolerances"


def form_of(job: Site, client: Client) -> dict[str, str]:
    """What the form holds when it is opened."""
    markup = client.get(address(job)).content.decode()
    inputs = re.findall(r'<input type="(?:text|hidden)" name="(\w+)" value="([^"]*)"', markup)
    chosen = re.findall(r'<select name="(\w+)".*?<option value="(\w*)" selected>', markup, re.DOTALL)
    return {name: unescape(value) for name, value in [*inputs, *chosen] if name != "csrfmiddlewaretoken"}


def change(job: Site, client: Client, **typed: str) -> Any:
    return client.post(address(job), form_of(job, client) | {"said_in": ""} | typed)


def latest(job: Site) -> ToleranceProfile:
    return ToleranceProfile.objects.filter(site=job).order_by("-version")[0]


def test_every_setting_has_its_words() -> None:
    assert set(shown_settings(DEFAULT_PROFILE)) == set(LIMITS)
    assert set(GAP_RULES) == set(GAP_RULE_TITLES)
    assert set(ANCHOR_RULE_SETS) == set(RULE_SET_TITLES) - {""}


def test_every_limit_is_shown_with_its_source_and_how_it_was_confirmed(job: Site, desk: Client) -> None:
    page = words(desk.get(address(job)))
    for name, limit in limits_of(DEFAULT_PROFILE).items():
        assert str(LIMITS[name]).capitalize() in page
        assert limit.source in page
        assert limit.edition in page
    assert "from memory, not confirmed by any text read" in page


def test_a_typed_limit_makes_the_next_version(job: Site, desk: Client) -> None:
    assert change(job, desk, plumb="1/32", said_in="Project manual, 3.4").status_code == 302
    made = latest(job)
    assert (made.version, made.data["plumb"]["value"], made.data["plumb"]["source"]) == (
        2,
        "1/32",
        "Project manual, 3.4",
    )
    page = words(desk.get(address(job)))
    assert "published: 1/16" in page
    assert "set for this site" in page
    assert "plumb, both jambs, both ways: 1/16&quot; → 1/32&quot;" in page


def test_a_form_sent_as_it_was_changes_nothing(job: Site, desk: Client) -> None:
    change(job, desk)
    assert latest(job).version == 1
    assert Profile.from_dict(latest(job).data) == DEFAULT_PROFILE


def test_a_limit_shown_rounded_in_millimetres_does_not_become_its_rounding(desk: Client) -> None:
    job = make.site("metric", units="metric")
    client = signed_in(make.supervisor(job))
    assert form_of(job, client)["plumb"] == "1.6 mm"
    change(job, client, twist="2")
    stored = Profile.from_dict(latest(job).data)
    assert stored.twist.length == parse_length("2 mm")
    assert stored.plumb.length == parse_length("1/16")


def test_rules_are_chosen_and_an_emptied_limit_goes_back(job: Site, desk: Client) -> None:
    change(job, desk, plumb="1/32", gap_rule="nfpa80_wood", anchor_rule_set="ufgs")
    assert (latest(job).data["gap_rule"], latest(job).data["anchor_rule_set"]) == ("nfpa80_wood", "ufgs")
    change(job, desk, plumb="", anchor_rule_set="")
    stored = Profile.from_dict(latest(job).data)
    assert (stored.plumb, stored.anchor_rule_set, stored.gap_rule) == (DEFAULT_PROFILE.plumb, None, "nfpa80_wood")


@pytest.mark.parametrize(
    ("field", "typed"), [("plumb", "0"), ("twist", "abc"), ("max_swing", "400"), ("undercut", "-1")]
)
def test_a_refused_change_stands_beside_its_field_and_nothing_is_lost(
    job: Site, desk: Client, field: str, typed: str
) -> None:
    answer = change(job, desk, **{field: typed}, alignment="1/8")
    assert answer.status_code == 422
    markup = answer.content.decode()
    assert f'id="id_{field}_error"' in markup
    assert f'value="{typed}"' in markup
    assert 'value="1/8"' in markup
    assert not ToleranceProfile.objects.filter(site=job, version__gt=1).exists()


def test_a_change_on_an_old_version_is_refused(job: Site, desk: Client) -> None:
    change(job, desk, plumb="1/32")
    stale = form_of(job, desk)
    change(job, desk, twist="1/8")
    answer = desk.post(address(job), stale | {"said_in": "", "plumb": "1/4"})
    assert answer.status_code == 422
    assert latest(job).version == 3


@pytest.mark.parametrize("role", sorted(set(Role.values) - {Role.SUPERVISOR}))
def test_others_read_and_cannot_change(job: Site, desk: Client, role: str) -> None:
    client = signed_in(make.member(job, role))
    assert '<form method="post" action="/s/clinic/tolerances' not in client.get(address(job)).content.decode()
    answer = client.post(address(job), form_of(job, desk) | {"plumb": "1/4"})
    assert answer.status_code == 422
    assert "set by its supervisor" in words(answer)
    assert not ToleranceProfile.objects.filter(site=job, version__gt=1).exists()


def test_what_another_rule_set_would_ask_is_shown_for_the_frames_of_the_site(job: Site, desk: Client) -> None:
    """A frame of 7'-0" in steel studs: 4 by the project specification, 3 by UFGS 08110, 4 by SDI and HMMA (memory)."""
    make.openings(job, 2)
    markup = desk.get(address(job)).content.decode()
    row = re.search(r"7&#x27;-0&quot;, steel stud and board(.*?)</tr>", markup, re.DOTALL)
    assert row
    cells = [re.sub(r"\D", "", cell) for cell in re.findall(r"<td[^>]*>(.*?)</td>", row[1], re.DOTALL)]
    assert cells == ["4", "3", "4", "4"]
    assert "2 openings" in row[1]
