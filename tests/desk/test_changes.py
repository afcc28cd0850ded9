"""The page of the audit trail: for supervisors of the site, narrowed, bounded, and harmless as a file."""

import csv
import io

import pytest

from sitetrack.access.models import RecordedChange
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
