"""A phone's memory, as far as pulling goes: it keeps pages, starts over on a reset, and drops what is gone."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.test.utils import CaptureQueriesContext

from inspections.models import Alert, Hold, Progress
from inspections.sync.pull import Page, Pull, pull
from openings.models import Floor, Opening, Site
from sitetrack.access.models import Device, Person
from tests import builders as b

Records = dict[tuple[str, str], dict[str, Any]]


@dataclass
class PhoneMemory:
    """Pulls as one person and remembers; `heard` counts the changes of the last `pull_all`."""

    site: Site
    person: Person
    device: Device | None = None
    limit: int = 500
    cursor: str = ""
    records: Records = field(default_factory=dict)
    before_reset: Records | None = None
    heard: list[dict[str, Any]] = field(default_factory=list)
    resets: int = 0

    def pull_page(self, now: datetime = b.MONDAY) -> Page:
        """One page, kept together with its cursor, as the phone does."""
        asked = Pull(self.person, self.device, self.site.pk, self.cursor, self.limit)
        page = pull(asked=asked, now=now)
        if page.reset:
            # What was known stays in use until the new load is whole.
            self.resets += 1
            self.before_reset, self.records = self.records, {}
        for change in page.changes:
            key = (change["type"], change["id"])
            if change["data"] is None:
                self.records.pop(key, None)
            else:
                self.records[key] = change["data"]
        self.cursor = page.cursor
        self.heard += page.changes
        return page

    def pull_all(self, now: datetime = b.MONDAY, most_pages: int = 10_000) -> list[dict[str, Any]]:
        """Pull until there is no more; every change heard on the way."""
        self.heard = []
        for _ in range(most_pages):
            if not self.pull_page(now).more:
                self.before_reset = None
                return self.heard
        raise AssertionError(f"more after {most_pages} pages")

    def of(self, kind: str) -> dict[str, dict[str, Any]]:
        """Records of a type by key."""
        return {key: data for (type_, key), data in self.records.items() if type_ == kind}

    def numbers(self) -> list[str]:
        """Numbers of the openings it knows."""
        return sorted(data["number"] for data in self.of("opening").values())


def assert_holds_the_truth(phone: PhoneMemory) -> None:
    """What the phone holds is what the data base says, looked up here in the plainest way there is."""
    site = phone.site
    listed = {str(o.pk): o for o in Opening.objects.filter(site=site, in_schedule=True)}
    held = phone.of("opening")
    assert set(held) == set(listed)
    progress = {str(p.pk): p for p in Progress.objects.filter(site=site)}
    for key, data in held.items():
        opening = listed[key]
        assert (data["number"], data["floor"]) == (opening.number, str(opening.floor_id))
        stages = progress[key].state.get("stages", {}) if key in progress else {}
        assert {code: s["state"] for code, s in data["standing"].items()} == {c: s["state"] for c, s in stages.items()}
        assert data["next_stage"] == (progress[key].next_stage if key in progress else "")
    told = {str(pk) for pk in listed}
    holds = Hold.objects.filter(site=site, released_at=None)
    assert {k for k, h in phone.of("hold").items() if h["opening"] in told} == {
        str(h.pk) for h in holds if str(h.opening_id) in told
    }
    assert set(phone.of("alert")) == {str(a.pk) for a in Alert.objects.filter(site=site, closed_at=None, seq__gt=0)}
    assert {key: f["name"] for key, f in phone.of("floor").items()} == {
        str(f.pk): f.name for f in Floor.objects.filter(site=site)
    }


def without_savepoints(queries: CaptureQueriesContext) -> int:
    """How many queries asked the data base for something."""
    return len([q for q in queries.captured_queries if "SAVEPOINT" not in q["sql"]])
