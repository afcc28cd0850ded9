"""What a push costs over HTTP, judged and sealed, and the fold after it, beside storing the same rows bare."""

import json
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any

from django.core import serializers
from django.db import connection

from inspections.models import CheckIn
from inspections.services.work_out import sweep
from openings.models import DirtyOpening
from sitetrack.demo.bench.figures import Figure, milliseconds
from sitetrack.demo.bench.peers import Peer
from sitetrack.demo.bench.phones import Crew, crew_on_site, readings_of
from sitetrack.demo.bench.scratch import shared_database
from sitetrack.demo.bench.server import Client, served
from sitetrack.kit.clock import now, rfc3339
from sitetrack.kit.ids import new_id

RECORDS, SAMPLES, BATCH = 10_000, 3, 100
WARM = 4  # so that each of the server's workers has answered before
SIZES, CLIENTS = (25, 100, 500), (1, 4)
UNIT = "records/s"
BULK = "plain endpoint, bulk_create, batches of 100"
SCRATCH = "bench_check_in"


def measure_push(*, quick: bool, peer: Peer | None = None) -> list[Figure]:
    """Every record a check with ten readings; each sample is a run of its own records into the same site."""
    records, samples = (RECORDS // 20, 1) if quick else (RECORDS, SAMPLES)
    with shared_database():
        crew = crew_on_site(max(100, records // 5), max(CLIENTS))
        with served() as server:
            port = server.port
            for n in range(WARM):
                _sent(crew, port, [list(readings_of(crew, BATCH, 900 + n))], BATCH)
            figures, lag = _pushes(crew, port, records, samples)
            rows = list(CheckIn.objects.filter(site=crew.site).order_by("seq")[:records])
            figures += [_plain(BULK, "all-at-once", rows, crew, port, samples, _row_with_keys)]
            one = rows[: records // 5]
            figures += [_plain("plain endpoint, item by item", "one-by-one", one, crew, port, samples, _row)]
            if peer:
                figures += [_at_peer(peer, rows, samples)]
        return [*figures, lag, *_bare(rows, samples)]


def _pushes(crew: Crew, port: int, records: int, samples: int) -> tuple[list[Figure], Figure]:
    figures, folded = [], []
    seed = 0
    for clients in CLIENTS:
        for size in SIZES:
            taken = []
            for _ in range(samples):
                seed += 1
                parts = [list(readings_of(crew, records // clients, seed * 10 + n)) for n in range(clients)]
                taken.append(records // clients * clients * 1000 / _sent(crew, port, parts, size))
                if size == BATCH:
                    folded.append(_folded())
                else:
                    _folded()
            name = f"push judged and sealed, batches of {size}, {clients} at once"
            figures.append(Figure(name, UNIT, tuple(taken), BULK))
    return figures, Figure("openings worked out afterwards, in one process", "openings/s", tuple(folded))


def _sent(crew: Crew, port: int, parts: Sequence[Sequence[dict[str, Any]]], size: int) -> float:
    """Milliseconds until all is answered; the bodies are made ready before."""
    bodies = [
        [
            json.dumps({"device_time": rfc3339(now()), "check_ins": part[start : start + size]}).encode()
            for start in range(0, len(part), size)
        ]
        for part in parts
    ]
    clients = [Client(port, token) for _, token in crew.phones[: len(parts)]]
    answers: list[bytes] = []

    def send(client: Client, own: Sequence[bytes]) -> None:
        answers.extend(client.ask("POST", "/api/v1/sync/push", body) for body in own)

    def send_all() -> None:
        with ThreadPoolExecutor(len(parts)) as pool:
            for done in [pool.submit(send, *each) for each in zip(clients, bodies, strict=True)]:
                done.result()

    took = milliseconds(send_all)
    outcomes = {result["outcome"] for answer in answers for result in json.loads(answer)["results"]}
    if outcomes != {"stored"}:
        raise RuntimeError(f"the bench's check-ins were {', '.join(sorted(outcomes))}")
    return took


def _folded() -> float:
    owed = DirtyOpening.objects.values("opening").distinct().count()
    return owed * 1000 / milliseconds(partial(sweep, now=now(), limit=DirtyOpening.objects.count()))


def _plain(
    name: str, path: str, rows: Sequence[CheckIn], crew: Crew, port: int, samples: int, told: Callable[[CheckIn], Any]
) -> Figure:
    client = Client(port, crew.phones[0][1])
    return _stored(name, rows, samples, told, _in_json, partial(_post_all, client, f"/bench/{path}"))


def _at_peer(peer: Peer, rows: Sequence[CheckIn], samples: int) -> Figure:
    return _stored(peer.name, rows, samples, _row, peer.body, peer.post_all)


def _stored(
    name: str,
    rows: Sequence[CheckIn],
    samples: int,
    told: Callable[[CheckIn], Any],
    body: Callable[[Sequence[Any]], bytes],
    post_all: Callable[[Sequence[bytes]], None],
) -> Figure:
    """How fast another way stores the same rows; the bodies are made ready before."""
    taken = []
    for _ in range(samples):
        said = [told(row) for row in _again(rows)]
        bodies = [body(said[start : start + BATCH]) for start in range(0, len(said), BATCH)]
        taken.append(len(rows) * 1000 / milliseconds(partial(post_all, bodies)))
    return Figure(name, UNIT, tuple(taken), "" if name == BULK else BULK)


def _in_json(rows: Sequence[Any]) -> bytes:
    return json.dumps(rows, default=str).encode()


def _post_all(client: Client, path: str, bodies: Sequence[bytes]) -> None:
    for body in bodies:
        client.ask("POST", path, body)


def _again(rows: Sequence[CheckIn]) -> list[CheckIn]:
    """The same rows as new ones: other keys, numbers nobody has."""
    crew_site = rows[0].site
    last = CheckIn.objects.filter(site=crew_site).order_by("-seq").values_list("seq", flat=True)[0]
    for number, row in enumerate(rows, last + 1):
        row.pk, row.seq = new_id(), number
    return list(rows)


def _row(row: CheckIn) -> dict[str, Any]:
    (told,) = json.loads(serializers.serialize("json", [row]))
    return {"id": told["pk"], **told["fields"]}


def _row_with_keys(row: CheckIn) -> dict[str, Any]:
    told = _row(row)
    return told | {f"{name}_id": told[name] for name in ("site", "person", "company", "opening")}


def _bare(rows: Sequence[CheckIn], samples: int) -> list[Figure]:
    """The driver alone, the same rows, 100 a statement and a commit each, into a table of the same columns."""
    fields = list(CheckIn._meta.concrete_fields)  # noqa: SLF001
    values = [[f.get_db_prep_save(f.pre_save(row, add=True), connection) for f in fields] for row in rows]
    columns = ", ".join(connection.ops.quote_name(str(f.column)) for f in fields)
    source = connection.ops.quote_name(CheckIn._meta.db_table)  # noqa: SLF001
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE TABLE {SCRATCH} AS SELECT {columns} FROM {source} WHERE 1 = 0")  # noqa: S608
    places = ", ".join(["%s"] * len(fields))
    insert = f"INSERT INTO {SCRATCH} ({columns}) VALUES ({places})"  # noqa: S608

    def by_executemany() -> None:
        for start in range(0, len(values), BATCH):
            with connection.cursor() as cursor:
                cursor.executemany(insert, values[start : start + BATCH])

    def by_copy() -> None:
        for start in range(0, len(values), BATCH):
            with connection.cursor() as cursor, cursor.copy(f"COPY {SCRATCH} ({columns}) FROM STDIN") as copy:
                for row in values[start : start + BATCH]:
                    copy.write_row(row)

    ways = {"driver alone, executemany": by_executemany}
    if connection.vendor == "postgresql":
        ways["driver alone, COPY"] = by_copy
    return [
        Figure(name, UNIT, tuple(len(rows) * 1000 / milliseconds(way) for _ in range(samples)), BULK)
        for name, way in ways.items()
    ]
