"""What one site costs in the data base as it stands, with all the others beside it; nothing of it is kept."""

from collections.abc import Iterator
from datetime import datetime
from functools import partial
from typing import Any

from django.core.management import CommandError
from django.db import transaction
from django.db.models import Count

from inspections.models import CheckIn
from inspections.selectors.ready import ready_by_trade
from inspections.services.work_out import work_out
from inspections.sync.pull import Pull, pull
from inspections.sync.push import Push, push
from openings.models import Floor, Opening, Site
from sitetrack.access.models import Device, Membership
from sitetrack.access.roles import Role
from sitetrack.access.services.enrolment import issue_token
from sitetrack.demo.bench.drawing_pages import addresses, ask_page, signed_in_client
from sitetrack.demo.bench.figures import Figure, each_in_ms, milliseconds
from sitetrack.demo.bench.worked_sites import WorkedSite
from sitetrack.demo.data_base import size_on_disk
from sitetrack.kit.clock import now, rfc3339
from sitetrack.kit.ids import new_id

SAMPLES, QUICK_SAMPLES = 9, 2
BATCH = 100
ROWS = "rows"


def measure_here(*, quick: bool) -> list[Figure]:
    """Of the site with most openings, or one of them: pages, what is ready, a push and its fold, a small pull."""
    samples = QUICK_SAMPLES if quick else SAMPLES
    with transaction.atomic():
        figures = [*_what_is_there(), *_asked(_largest(), samples)]
        transaction.set_rollback(True)
    return figures


def _what_is_there() -> Iterator[Figure]:
    tables: tuple[type[Any], ...] = (Site, Opening, CheckIn)
    for table in tables:
        yield Figure(str(table._meta.verbose_name_plural), ROWS, (float(table.objects.count()),))  # noqa: SLF001
    if size := size_on_disk():
        yield Figure("on disk", "MB", (size / 1e6,))


def _largest() -> WorkedSite:
    site = Site.objects.annotate(n=Count("openings")).filter(n__gt=0).order_by("-n", "code").first()
    if site is None:
        raise CommandError("here: no site has an opening. Load the demo, or let `manage.py simulate` write some.")
    boss = Membership.objects.filter(site=site, role=Role.SUPERVISOR, ended_at=None).select_related("person")[0]
    read = Opening.objects.filter(site=site, frame_checks__isnull=False).order_by("number").first()
    opening = read or Opening.objects.filter(site=site).order_by("number")[0]
    return WorkedSite(site, boss.person, opening.number)


def _asked(worked: WorkedSite, samples: int) -> Iterator[Figure]:
    client, site = signed_in_client(worked), worked.site
    openings = Opening.objects.filter(site=site).count()
    for page, address in addresses(worked).items():
        yield each_in_ms(f"{page}, {openings} openings", [partial(ask_page, client, address)] * samples)
    floors = {floor.pk: str(floor) for floor in Floor.objects.filter(site=site)}
    yield each_in_ms(
        "what is ready, by trade and floor", [partial(ready_by_trade, site, worked.boss, floors)] * samples
    )
    phone, _token = issue_token(site_id=site.pk, person=worked.boss, name="bench", kind="phone", now=now())
    yield from _sent(worked, phone, samples)


def _sent(worked: WorkedSite, phone: Device, samples: int) -> Iterator[Figure]:
    """A phone's batch, the fold of what it concerns, and what another phone then pulls of it."""
    site = worked.site
    openings = list(Opening.objects.filter(site=site).order_by("number")[:BATCH])
    cursor = _caught_up(worked)
    pushed, folded, pulled = [], [], []
    for _ in range(samples):
        at = now()
        batch = Push(worked.boss, phone, at, [_note(opening, at) for opening in openings])
        pushed.append(milliseconds(partial(push, batch=batch, now=at)))
        keys = [opening.pk for opening in openings]
        folded.append(milliseconds(partial(work_out, opening_ids=keys, now=at)))
        asked = Pull(worked.boss, None, site.pk, cursor, BATCH * 4)
        pulled.append(milliseconds(partial(pull, asked=asked, now=at)))
        cursor = pull(asked=asked, now=at).cursor
    yield Figure(f"push of {len(openings)} check-ins, stored and sealed", "ms", tuple(pushed))
    yield Figure(f"fold of the {len(openings)} openings concerned", "ms", tuple(folded))
    yield Figure("pull of what changed by it", "ms", tuple(pulled))


def _caught_up(worked: WorkedSite) -> str:
    cursor, more = "", True
    while more:
        page = pull(asked=Pull(worked.boss, None, worked.site.pk, cursor, 1000), now=now())
        cursor, more = page.cursor, page.more
    return cursor


def _note(opening: Opening, at: datetime) -> dict[str, Any]:
    return {
        "id": str(new_id()),
        "site": str(opening.site_id),
        "opening": opening.number,
        "stage": opening.plan.stages[0]["code"],
        "action": "note",
        "happened_at": rfc3339(at),
        "note": "seen",
    }
