"""A working day in small: many phones with the habits of real ones against a served site, for as long as is asked.

A phone reports a few checks at once, asks what changed, and rests; now and then its answer is lost on the way and it
sends the same again, and now and then it comes back from a dead spot with a morning's reports. Meanwhile one process
works out what is owed, as a worker does. How often each happens is an assumption, stated below, not a survey.
"""

import json
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random
from typing import Any

import psutil
from django.db.models import Min

from inspections.services.work_out import sweep
from openings.models import DirtyOpening
from sitetrack.demo.bench.figures import MS, Figure
from sitetrack.demo.bench.phones import Crew, crew_on_site, readings_of
from sitetrack.demo.bench.scratch import shared_database
from sitetrack.demo.bench.server import Client, served
from sitetrack.kit.clock import now, rfc3339

PHONES, OPENINGS, MINUTES = 200, 2_000, 1.0
REST_SECONDS = 20.0  # between two reports of one phone, exponential
LOST_ANSWERS, DEAD_SPOTS = 1 / 20, 1 / 50
FEW, MANY = (1, 2, 3), 25
SWEEP_SECONDS, AT_ONCE = 1.0, 500
WARM = 8  # so that each of the server's workers has answered before
PUSH = "/api/v1/sync/push"
BEFORE = "memory of the servers after a tenth"


@dataclass
class Seen:
    """What the phones and the one who watches saw."""

    pushes: list[float] = field(default_factory=list)
    pulls: list[float] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    memory: list[float] = field(default_factory=list)
    oldest: list[float] = field(default_factory=list)
    stop: threading.Event = field(default_factory=threading.Event)


def measure_soak(*, quick: bool, minutes: float = MINUTES) -> list[Figure]:
    """Answers' times, the share that was good, the age of what is owed, and memory early and late."""
    phones, openings, rest = (10, 50, 0.2) if quick else (PHONES, OPENINGS, REST_SECONDS)
    seconds = 4.0 if quick else minutes * 60
    seen = Seen()
    with shared_database():
        crew = crew_on_site(openings, phones)
        with served() as server:
            for n in range(WARM):
                warm = Client(server.port, crew.phones[0][1])
                _asked(warm, "POST", PUSH, _said(list(readings_of(crew, 1, n))), [], seen)
            threads = [
                threading.Thread(target=_carry, args=(crew, server.port, n, rest, seen), daemon=True)
                for n in range(phones)
            ]
            for thread in threads:
                thread.start()
            _watch(server.process, seconds, seen)
            seen.stop.set()
            for thread in threads:
                thread.join(60)
            sweep(now=now(), limit=openings)
    for fault in sorted(set(seen.faults))[:5]:
        print(f"  went wrong: {fault}")  # noqa: T201 - a measurement says what it met
    return list(_figures(seen))


def _carry(crew: Crew, port: int, number: int, rest: float, seen: Seen) -> None:
    """One phone until it is told to stop."""
    rng = Random(number)
    client = Client(port, crew.phones[number][1])
    items = readings_of(crew, 1_000_000, number + 1 + WARM)
    cursor = ""
    while not seen.stop.wait(rng.expovariate(1 / rest)):
        count = MANY if rng.random() < DEAD_SPOTS else rng.choice(FEW)
        batch = [next(items) for _ in range(count)]
        for _ in range(2 if rng.random() < LOST_ANSWERS else 1):
            told = _asked(client, "POST", PUSH, _said(batch), seen.pushes, seen)
            if told and {each["outcome"] for each in told["results"]} - {"stored", "known"}:
                seen.faults.append(f"a check-in was neither stored nor known: {told['results'][0]}")
        path = f"/api/v1/sync/pull?site={crew.site.pk}&limit=500&cursor={cursor}"
        told = _asked(client, "GET", path, None, seen.pulls, seen)
        cursor = str(told["cursor"]) if told else cursor


def _said(batch: list[dict[str, Any]]) -> bytes:
    return json.dumps({"device_time": rfc3339(now()), "check_ins": batch}).encode()


def _asked(client: Client, method: str, path: str, body: bytes | None, taken: list[float], seen: Seen) -> Any:
    began = time.perf_counter()
    try:
        told = json.loads(client.ask(method, path, body))
    except (RuntimeError, OSError, ValueError) as error:
        seen.faults.append(f"{type(error).__name__}: {error}"[:200])
        return None
    taken.append((time.perf_counter() - began) * 1000)
    return told


def _watch(server: int, seconds: float, seen: Seen) -> None:
    """Work out what is owed, as a worker does, and look at memory and at what waits, each second."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        first = DirtyOpening.objects.aggregate(at=Min("marked_at"))["at"]
        seen.oldest.append((now() - first).total_seconds() if first else 0.0)
        seen.memory.append(_memory(server))
        sweep(now=now(), limit=AT_ONCE)
        time.sleep(min(SWEEP_SECONDS, seconds / 8))


def _memory(server: int) -> float:
    """Megabytes resident in the server's processes; what they share counts in each."""
    top = psutil.Process(server)
    return sum(each.memory_info().rss for each in (top, *top.children(recursive=True))) / 1e6


def _figures(seen: Seen) -> Iterator[Figure]:
    answers = len(seen.pushes) + len(seen.pulls)
    yield Figure("answered as they should", "%", (100 * answers / (answers + len(seen.faults)),))
    for name, taken in (("push", seen.pushes), ("pull", seen.pulls)):
        yield Figure(name, MS, tuple(taken))
        for part in (95, 99):
            yield Figure(f"{name}, {part} of 100 within", MS, (sorted(taken)[int((len(taken) - 1) * part / 100)],))
    tenth = max(1, len(seen.memory) // 10)
    yield Figure(BEFORE, "MB", tuple(seen.memory[tenth : 2 * tenth]))
    yield Figure("memory of the servers at the end", "MB", tuple(seen.memory[-tenth:]), BEFORE)
    yield Figure("oldest that waited to be worked out", "s", (max(seen.oldest),))
