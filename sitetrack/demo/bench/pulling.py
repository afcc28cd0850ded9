"""What a pull costs over HTTP, whole and small, beside the bare SELECT of the same openings written as JSON.

As history grows, what a push of the changes cost is told beside the pull of them.
"""

import json
from collections.abc import Iterator, Sequence
from functools import partial

from django.db import connection, transaction

from inspections.models import CheckIn, Progress
from inspections.services.check_ins import MOST_ITEMS
from inspections.services.work_out import work_out
from inspections.sync.pull import MOST_CHANGES
from openings.models import Opening
from openings.services.changes import next_numbers
from sitetrack.demo.bench.figures import MS, Figure, milliseconds
from sitetrack.demo.bench.phones import Crew, crew_on_site, readings_of
from sitetrack.demo.bench.scratch import shared_database
from sitetrack.demo.bench.server import Client, served
from sitetrack.demo.data_base import take_stock
from sitetrack.kit.bulk import insert_rows
from sitetrack.kit.clock import now, rfc3339
from sitetrack.kit.ids import new_id

OPENINGS, NEW, SAMPLES = 10_000, 100, 5
WARM = 4  # so that each of the server's workers has answered before
HISTORY = (10_000, 100_000, 2_000_000)
UNIT = "openings/s"
BARE = "bare SELECT, written as JSON"


def measure_pull(*, quick: bool) -> list[Figure]:
    """Ten thousand openings, each with its standing at every stage; then a hundred that changed, as history grows."""
    openings, samples = (OPENINGS // 20, 2) if quick else (OPENINGS, SAMPLES)
    with shared_database():
        crew = crew_on_site(openings, 1)
        with served() as server:
            port = server.port
            client = Client(port, crew.phones[0][1])
            for _ in range(WARM):
                _pull(Client(port, crew.phones[0][1]), crew, "")
            bare = [openings * 1000 / milliseconds(partial(_bare, crew)) for _ in range(samples)]
            full = [openings * 1000 / milliseconds(partial(_pull, client, crew, "")) for _ in range(samples)]
            figures = [Figure(BARE, UNIT, tuple(bare)), Figure("everything pulled", UNIT, tuple(full), BARE)]
            cursor = _pull(client, crew, "")
            first = ""
            for stored in HISTORY:
                history = stored // 20 if quick else stored
                _grow(crew, client, history)
                cursor = _pull(client, crew, cursor)
                pushed, pulled = [], []
                for _ in range(samples):
                    pushed.append(_change(crew, client))
                    pulled.append(milliseconds(partial(_pull, client, crew, cursor)))
                    cursor = _pull(client, crew, cursor)
                behind = f"{NEW}, behind {CheckIn.objects.filter(site=crew.site).count()} check-ins"
                figures.append(Figure(f"pull of {behind}", MS, tuple(pulled), first and f"pull of {first}"))
                figures.append(Figure(f"push of {behind}", MS, tuple(pushed), first and f"push of {first}"))
                first = first or behind
    return figures


def _pull(client: Client, crew: Crew, cursor: str) -> str:
    """Pull until there is no more; the cursor then."""
    while True:
        path = f"/api/v1/sync/pull?site={crew.site.pk}&limit={MOST_CHANGES}&cursor={cursor}"
        page = client.json("GET", path)
        cursor = str(page["cursor"])
        if not page["more"]:
            return cursor


def _bare(crew: Crew) -> bytes:
    """Every column of the openings and of their progress, by the driver, as one JSON text."""
    with connection.cursor() as cursor:
        opening, progress = Opening._meta.db_table, Progress._meta.db_table  # noqa: SLF001
        cursor.execute(
            f"SELECT o.*, p.* FROM {opening} o JOIN {progress} p ON p.opening_id = o.id WHERE o.site_id = %s",  # noqa: S608
            [crew.site.pk.hex if connection.vendor == "sqlite" else crew.site.pk],
        )
        return json.dumps(cursor.fetchall(), default=str).encode()


def _change(crew: Crew, client: Client) -> float:
    """A check at a hundred openings, worked out, so that a hundred openings stand differently; the push's ms."""
    items = list(readings_of(crew, NEW * 5, int(new_id()) % 1_000_000))[::5]
    body = json.dumps({"device_time": rfc3339(now()), "check_ins": items}).encode()
    answers: list[bytes] = []
    took = milliseconds(lambda: answers.append(client.ask("POST", "/api/v1/sync/push", body)))
    changed = Opening.objects.filter(site=crew.site, number__in=crew.numbers[:NEW]).values_list("pk", flat=True)
    work_out(opening_ids=changed, now=now())
    if {result["outcome"] for result in json.loads(answers[0])["results"]} != {"stored"}:
        raise RuntimeError("the bench's check-ins were not stored")
    return took


def _grow(crew: Crew, client: Client, count: int) -> None:
    """Copies of one stored note, until the site has so many check-ins; notes change no opening's standing."""
    if not CheckIn.objects.filter(site=crew.site, action="note").exists():
        (item,) = readings_of(crew, 1, 999)
        item |= {"action": "note", "note": "seen", "readings": {}, "answers": {}}
        client.json("POST", "/api/v1/sync/push", {"device_time": rfc3339(now()), "check_ins": [item]})
    note = CheckIn.objects.filter(site=crew.site, action="note").order_by("id")[0]
    keys = list(Opening.objects.filter(site=crew.site).order_by("pk").values_list("pk", flat=True))
    missing = count - CheckIn.objects.filter(site=crew.site).count()
    for start in range(0, missing, MOST_ITEMS * 20):
        some = min(MOST_ITEMS * 20, missing - start)
        _store(note, crew, keys, some)
    take_stock()  # years of check-ins have long been looked at by the data base's own upkeep


def _store(note: CheckIn, crew: Crew, keys: Sequence[object], some: int) -> None:
    from_here = _numbers(crew, some)
    fields = {f.attname: getattr(note, f.attname) for f in CheckIn._meta.concrete_fields}  # noqa: SLF001
    insert_rows(
        CheckIn(**fields | {"id": new_id(), "seq": number, "opening_id": keys[number % len(keys)], "counter": None})
        for number in from_here
    )


def _numbers(crew: Crew, some: int) -> Iterator[int]:
    with transaction.atomic():
        return iter(next_numbers(crew.site.pk, some))
