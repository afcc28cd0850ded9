"""The page of the audit trail: for supervisors of the site, narrowed, bounded, and harmless as a file."""

import ast
import csv
import io
from pathlib import Path

import pytest

from inspections.services.profiles import set_profile
from openings.services.edit import edit_openings
from openings.services.edit_undo import take_back_edit
from openings.services.ground import FLOOR_FACTS
from openings.services.site_settings import SETTINGS
from sitetrack.access.models import Membership, RecordedChange
from sitetrack.access.services.invitations import Standing
from sitetrack.access.services.people import change_standing
from sitetrack.desk.change_words import FIELDS
from tests import builders as b
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def test_only_supervisors_of_the_site_read_it() -> None:
    site = b.site("clinic")
    b.device(site, b.crew(site))
    for name in ("changes", "changes.csv"):
        assert signed_in(b.supervisor(site)).get(f"/s/clinic/{name}").status_code == 200
        for who in (b.crew(site), b.inspector(site), b.viewer(site)):
            assert signed_in(who).get(f"/s/clinic/{name}").status_code == 403
        assert signed_in(b.supervisor(b.site())).get(f"/s/clinic/{name}").status_code == 404


def test_narrowed_by_kind_and_day_and_paged() -> None:
    site = b.site("clinic")
    desk = signed_in(b.supervisor(site))
    rows = [
        RecordedChange(site=site, at=b.MONDAY + n * b.MINUTE, kind="site", act="changed", named=f"n{n}n")
        for n in range(150)
    ]
    RecordedChange.objects.bulk_create(rows)
    first = desk.get("/s/clinic/changes?kind=site")
    assert "n149n" in words(first)
    assert "n49n" not in words(first)
    second = desk.get(f"/s/clinic/changes?kind=site&before={first.context['earlier']}")
    assert "n49n" in words(second)
    assert second.context["earlier"] is None
    assert desk.get("/s/clinic/changes?kind=phone").context["lines"] == []
    assert desk.get("/s/clinic/changes?kind=site&since=2026-03-03").context["lines"] == []


def test_cells_of_the_file_run_nothing() -> None:
    """CWE-1236: a cell that begins with = is run by a spreadsheet."""
    site = b.site("clinic")
    RecordedChange.objects.create(
        site=site, at=b.MONDAY, kind="site", act="changed", named="=1+1", differences=[["name", "@a", "-b"]]
    )
    answer = signed_in(b.supervisor(site)).get("/s/clinic/changes.csv")
    text = b"".join(answer.streaming_content).decode()  # type: ignore[attr-defined]
    (line,) = [row for row in csv.DictReader(io.StringIO(text)) if row["kind"] == "site"]
    assert (line["named"], line["before"], line["after"]) == ("'=1+1", "'@a", "'-b")


def test_every_field_that_a_service_records_has_a_word() -> None:
    """Read from the code: the keys of every dict of (before, after) in a module that records changes."""
    said: set[str] = set()
    for top in ("openings", "inspections", "sitetrack"):
        for path in (Path(__file__).resolve().parents[2] / top).rglob("*.py"):
            text = path.read_text(encoding="utf-8")
            if "record_change" in text and "/tests/" not in str(path):
                said |= {
                    key.value
                    for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Dict)
                    for key, value in zip(node.keys, node.values, strict=True)
                    if isinstance(key, ast.Constant) and isinstance(value, ast.Tuple) and len(value.elts) == 2
                }  # fmt: skip
    assert {"password", "version", "reason"} <= said
    assert said | set(SETTINGS) | set(FLOOR_FACTS) <= set(FIELDS)


def test_changes_are_told_in_the_readers_words() -> None:
    site = b.site("clinic")
    boss, hand = b.supervisor(site), b.crew(site)
    here = b.opening(site, "A-101")
    standing = Membership.objects.get(person=hand)
    change_standing(membership=standing, to=Standing("inspector", "Walls"), who=boss, now=b.MONDAY)
    edit_openings(
        site=site, versions={here.pk: here.version}, facts={"construction": "knocked_down"}, who=boss, now=b.MONDAY
    )
    set_profile(site=site, changes={"plumb": "1/8"}, who=boss, now=b.MONDAY)
    text = words(signed_in(boss).get("/s/clinic/changes?lang=es", follow=True))
    for word in ("Inspector", "construcción", "desarmado", "plomo", "oficios: Cuadrilla de marcos"):
        assert word in text, word
    for code in ("knocked_down", "frame_crew", "plumb:"):
        assert code not in text, code


def test_what_is_done_by_hand_is_one_row_an_act() -> None:
    site = b.site("clinic")
    boss, many = b.supervisor(site), b.openings(site, 3)
    versions = {each.pk: each.version for each in many}
    edit_openings(site=site, versions=versions, facts={"hand": "LH"}, who=boss, now=b.MONDAY)
    row = RecordedChange.objects.get(site=site, kind="opening")
    assert (row.named, row.act, row.who) == ("3 openings", "changed", boss)
    assert all(each.number in {field: after for field, _b, after in row.differences}["openings"] for each in many)
    take_back_edit(site=site, made_at=b.MONDAY, who=boss, now=b.MONDAY)
    assert RecordedChange.objects.filter(site=site, kind="opening").count() == 2
