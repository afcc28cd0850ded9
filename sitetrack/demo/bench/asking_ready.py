"""What `what is ready for a trade` costs on a large site, beside the bare SELECT of the same rows by the same index."""

from collections.abc import Iterator
from functools import partial
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models import Count

from inspections.models import StageStanding
from inspections.selectors.ready import ready_by_trade, the_walk
from openings.models import Floor
from sitetrack.access.roles import Trade
from sitetrack.demo.bench.figures import Figure, each_in_ms
from sitetrack.demo.bench.scratch import shared_database
from sitetrack.demo.bench.worked_sites import WorkedSite, worked_site

OPENINGS, SAMPLES = 100_000, 9
COLUMNS = "floor_id, stage, place, opening_id"


def measure_readiness(*, quick: bool) -> list[Figure]:
    """For the trade that has most to do on the site; then for every trade at once, as Today asks it."""
    with shared_database():
        worked = worked_site(40 if quick else OPENINGS)
        return list(readiness_of(worked, 2 if quick else SAMPLES))


def readiness_of(worked: WorkedSite, samples: int) -> Iterator[Figure]:
    """The same rows bare and asked as a person with rights asks them; then counted, bare and as told on Today."""
    trade = busiest(worked)
    rows = len(bare(worked, trade))
    name = f"{rows} rows of {trade}"
    yield each_in_ms(f"bare SELECT, {name}", [partial(bare, worked, trade)] * samples)
    yield each_in_ms(f"asked, {name}", [partial(asked, worked, trade)] * samples, of=f"bare SELECT, {name}")
    yield each_in_ms("bare count by trade, floor and stage", [partial(bare_counts, worked)] * samples)
    floors = {floor.pk: str(floor) for floor in Floor.objects.filter(site=worked.site)}
    told = partial(ready_by_trade, worked.site, worked.boss, floors)
    yield each_in_ms("told by trade and floor", [told] * samples, of="bare count by trade, floor and stage")
    walk = partial(the_walk, worked.site, worked.boss, floors, told(), trade=trade)
    yield each_in_ms(f"the walk of {trade}", [walk] * samples)


def busiest(worked: WorkedSite) -> Trade:
    """The trade with most to do."""
    standing = StageStanding.objects.filter(site=worked.site, actionable=True)
    most = standing.values("trade").annotate(n=Count("pk")).order_by("-n", "trade")[0]
    return Trade(most["trade"])


def bare(worked: WorkedSite, trade: str) -> list[Any]:
    """Where the trade can act, by the driver alone."""
    where = "site_id = %s AND trade = %s AND actionable"
    return _rows(f"SELECT {COLUMNS} FROM {_table()} WHERE {where}", [_key(worked), trade])  # noqa: S608 - names only


def asked(worked: WorkedSite, trade: str) -> list[Any]:
    """The same rows of what the site's supervisor may see."""
    standing = StageStanding.objects.visible_to(worked.boss).filter(site=worked.site, trade=trade, actionable=True)
    return list(standing.order_by().values_list("floor_id", "stage", "place", "opening_id"))


def bare_counts(worked: WorkedSite) -> list[Any]:
    """How many standings each trade can act on, by floor and stage, counted by the data base."""
    where = "site_id = %s AND actionable GROUP BY trade, floor_id, stage"
    counted = f"SELECT trade, floor_id, stage, COUNT(*) FROM {_table()} WHERE {where}"  # noqa: S608 - names only
    return _rows(counted, [_key(worked)])


def _rows(statement: str, values: list[Any]) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return list(cursor.fetchall())


def _table() -> str:
    return StageStanding._meta.db_table  # noqa: SLF001


def _key(worked: WorkedSite) -> UUID | str:
    return worked.site.pk.hex if connection.vendor == "sqlite" else worked.site.pk
