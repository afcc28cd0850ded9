"""Bad input at scale: no fault of ours, no long wait, bounded memory, and nothing kept that breaks a page.

A few hundred requests with every run; `BAD_INPUT=20000 pytest -s tests/bad_input` sends so many and prints the figures,
`BAD_INPUT_SEED=7` sends others.
"""

import os
import random
import re
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse

from inspections.api import throttles
from inspections.api.throttles import Rate
from inspections.models import CheckIn, Photo
from openings.models import IntakeDraft, Opening, ScheduleRevision, Site
from tests import builders as b
from tests.bad_input.nonsense import Photos, Pushes, Schedules
from tests.desk.looking import pages_of, signed_in

pytestmark = pytest.mark.django_db(transaction=True)  # what is owed after a commit is done, as on a server

COUNT = int(os.environ.get("BAD_INPUT", "300"))
SEED = int(os.environ.get("BAD_INPUT_SEED", "1"))
MOST_SECONDS = 5.0
# Grown by, at the worst moment, beside the data base where that lies in the same memory: the largest picture taken, 40
# million pixels of 4 bytes, stands there twice while it is turned upright; a schedule of 64 MB may lie beside it.
MOST_MEGABYTES = 2 * 160 + 64 + 200
KINDS = ("push", "push", "photo", "schedule")
# Markup somebody sent, come out as markup; escaped it is text.
LIVE_MARKUP = re.compile(r"<script>alert\(1\)|<img src=x onerror")


def megabytes(what: str) -> float:
    """VmRSS: held now; VmHWM: held at most since `peak_from_here` (proc(5), from memory)."""
    found = re.search(rf"^{what}:\s+(\d+) kB", Path("/proc/self/status").read_text(), re.MULTILINE)
    assert found
    return int(found[1]) / 1024


def peak_from_here() -> float:
    Path("/proc/self/clear_refs").write_text("5")
    return megabytes("VmRSS")


def data_base() -> float:
    """What SQLite's data base of the tests takes of this memory (its PRAGMAs, from memory); PostgreSQL's takes none."""
    if connection.vendor != "sqlite":
        return 0.0
    with connection.cursor() as cursor:
        pages, size = (cursor.execute(f"PRAGMA {name}").fetchone()[0] for name in ("page_count", "page_size"))
    return float(pages * size) / 1024**2


@dataclass
class Told:
    """What was answered, by kind, and what took longest."""

    statuses: Counter[tuple[str, int]] = field(default_factory=Counter)
    outcomes: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    slowest: tuple[float, str] = (0.0, "")

    def ask(self, kind: str, n: int, send: Callable[[], Any]) -> Any:
        began = time.monotonic()
        answer = send()
        self.slowest = max(self.slowest, (time.monotonic() - began, f"{kind} {n}"))
        self.statuses[kind, answer.status_code] += 1
        if answer.status_code >= 500:
            self.faults.append(f"{kind} {n} of seed {SEED}: {answer.status_code}")
        return answer


class Senders:
    """A phone that pushes and sends photos, and a supervisor's browser that hands schedules in."""

    def __init__(self, site: Site, openings: list[Opening], folder: Path, told: Told):
        chance = random.Random(SEED)
        self.site, self.told, self.chance = site, told, chance
        self.phone = Client(raise_request_exception=False)
        token = b.device(site, b.supervisor(site))[1]
        self.proof = {"authorization": f"Bearer {token}"}
        self.desk = signed_in(b.supervisor(site))
        self.desk.raise_request_exception = False
        self.pushes, self.photos = Pushes(openings, chance), Photos(chance)
        self.schedules = Schedules(folder, chance)

    def push(self, n: int) -> None:
        sent = self.pushes.make()
        answer = self.told.ask(
            "push", n, lambda: self.phone.post("/api/v1/sync/push", sent.content, sent.kind, headers=self.proof)
        )
        if answer.status_code == 200:
            self.told.outcomes.update(each["outcome"] for each in answer.json()["results"])

    def photo(self, n: int) -> None:
        sent = self.photos.make()
        address = f"/api/v1/photos/{sent.name}"
        self.told.ask("photo", n, lambda: self.phone.put(address, sent.content, sent.kind, headers=self.proof))

    def schedule(self, n: int) -> None:
        """Handed in, looked at, and now and then taken in as it was seen."""
        sent = self.schedules.make()
        file = SimpleUploadedFile(sent.name, sent.content)
        where = reverse("desk:schedule", args=[self.site.code])
        answer = self.told.ask("schedule", n, lambda: self.desk.post(where, {"file": file}))
        if answer.status_code != 302:
            return
        page = self.told.ask("preview", n, lambda: self.desk.get(answer["Location"]))
        seen = page.context["preview"] if page.status_code == 200 and "preview" in page.context else None
        draft = IntakeDraft.objects.filter(site=self.site).order_by("-made_at")[0]
        if seen and self.chance.random() < 0.3:
            where = reverse("desk:schedule-take-in", args=[self.site.code, draft.pk])
            self.told.ask("taking in", n, lambda: self.desk.post(where, {"based_on": seen.based_on}))


def pages_that_break(site: Site, told: Told) -> list[str]:
    """Every page of the site, of openings of each kind that came about, and what phones and programs read."""
    chief = b.supervisor(site)
    desk, api = signed_in(chief), b.client(chief)
    desk.raise_request_exception = api.raise_request_exception = False
    openings = list(Opening.objects.filter(site=site).select_related("floor"))
    addresses = {address for opening in openings[-12:] for address in pages_of(site, opening)}
    addresses |= {reverse("desk:opening", args=[site.code, opening.number]) for opening in openings[:300]}
    addresses |= {f"/s/{site.code}/schedule", reverse("setup:kept-aside", args=[site.code])}
    addresses |= {
        reverse("desk:schedule-revision", args=[site.code, made.n])
        for made in ScheduleRevision.objects.filter(site=site)[:50]
    }
    lists = ("openings", "check-ins", "frame-checks", "holds", "alerts", "kept-aside", "photos")
    broken = []
    for address in sorted(addresses):
        answer = told.ask("page", 0, lambda address=address: desk.get(address))
        # A sheet of readings with nothing to read says so by 422.
        said = answer.status_code == 200 or (answer.status_code == 422 and address.endswith("/readings"))
        if not said or LIVE_MARKUP.search(answer.content.decode()):
            broken.append(f"{answer.status_code} {address}")
    for address in [*(f"/api/v1/{name}" for name in lists), f"/api/v1/sync/pull?site={site.pk}"]:
        answer = told.ask("list", 0, lambda address=address: api.get(address))
        if answer.status_code != 200:
            broken.append(f"{answer.status_code} {address}")
    return broken


def test_nothing_sent_at_random_is_a_fault_a_hang_or_a_broken_page(
    settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    for rate in ("ONE_PHONE", "ALL_PHONES_OF_A_SITE"):  # one phone does here what a thousand do
        monkeypatch.setattr(throttles, rate, Rate(10 * COUNT, 60))
    site, told = b.site("clinic"), Told()
    senders = Senders(site, b.openings(site, 20 + COUNT // 100), tmp_path, told)
    senders.phone.get("/api/v1/me")  # pages are loaded before, as when a server starts
    before, stored = peak_from_here(), data_base()
    began = time.monotonic()
    for n in range(COUNT):
        getattr(senders, KINDS[n % len(KINDS)])(n)
    took, grown = time.monotonic() - began, megabytes("VmHWM") - before
    kept = data_base() - stored
    broken = pages_that_break(site, told)
    print(
        f"\n{COUNT} sent in {took:.0f} s, seed {SEED}: {len(told.faults)} answered 5xx; "
        f"slowest {told.slowest[0]:.2f} s ({told.slowest[1]}); memory grew by {grown:.0f} MB at most, "
        f"{kept:.0f} MB of it the data base; "
        f"{len(broken)} pages broken\n"
        f"answers {dict(sorted(told.statuses.items()))}\noutcomes {dict(told.outcomes)}"
    )
    assert told.faults == []
    assert broken == []
    assert told.slowest[0] < MOST_SECONDS, told.slowest
    assert grown - kept < MOST_MEGABYTES
    # It was looked into and not turned away at the door: of each kind some was taken and some refused.
    assert {"stored", "refused", "kept_aside"} <= set(told.outcomes)
    assert {("push", 422), ("photo", 201), ("photo", 422), ("schedule", 302), ("schedule", 422)} <= set(told.statuses)
    assert (CheckIn.objects.exists(), Photo.objects.exists()) == (True, True)
    assert ScheduleRevision.objects.exists()
