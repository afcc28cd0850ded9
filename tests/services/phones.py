"""Phones as the contract has them: what is not answered is sent again, byte for byte, until it is."""

import json
import random
import threading
import time
from collections import Counter
from collections.abc import Sequence
from datetime import timedelta
from http.client import HTTPException
from typing import Any
from urllib.error import HTTPError, URLError

from inspections.models import CheckIn
from openings.models import Opening
from sitetrack.kit.clock import now, rfc3339
from tests import builders as b
from tests.services.conftest import Processes


class Phone(threading.Thread):
    """Sends batch after batch until it is stopped, and notes all it was told."""

    def __init__(
        self, processes: Processes, token: str, openings: Sequence[Opening], stop: threading.Event, *,
        batch: int = 5, pace: float = 0.0,
    ) -> None:  # fmt: skip
        super().__init__(daemon=True)
        self.processes, self.token, self.openings, self.stop = processes, token, openings, stop
        self.batch, self.pace = batch, pace
        self.believed: set[str] = set()
        self.outcomes: Counter[str] = Counter()
        self.answers: Counter[str] = Counter()
        self.turned_away: list[tuple[int, str, dict[str, Any]]] = []  # status, Retry-After, problem
        self.counter = 0
        self.longest = 0.0

    @property
    def tries(self) -> int:
        return self.answers.total()

    def run(self) -> None:
        while not self.stop.is_set():
            self.send(self.make_batch())
            self.stop.wait(self.pace)

    def send(self, batch: dict[str, Any]) -> None:
        """Send one batch until it is taken."""
        began = time.monotonic()
        while (results := self._try(batch)) is None:
            pass
        self.longest = max(self.longest, time.monotonic() - began)
        for result in results:
            self.outcomes[result["outcome"]] += 1
            if result["outcome"] in {"stored", "known"}:
                self.believed.add(result["id"])

    def _try(self, batch: dict[str, Any]) -> list[dict[str, Any]] | None:
        wait = 0.05 + random.random() * 0.2
        try:
            results = self.processes.push(self.token, batch)
        except HTTPError as answer:
            self.answers[str(answer.code)] += 1
            if answer.code < 500 and answer.code != 429:
                raise
            said, after = answer.read(), answer.headers.get("Retry-After", "")
            is_problem = answer.headers.get_content_type() == "application/problem+json"
            self.turned_away.append((answer.code, after, json.loads(said) if is_problem else {}))
            wait = max(wait, float(after or 0))
        except (URLError, HTTPException, ConnectionError, TimeoutError, json.JSONDecodeError) as error:
            self.answers[type(error).__name__] += 1
        else:
            self.answers["200"] += 1
            return results
        time.sleep(wait)
        return None

    def make_batch(self) -> dict[str, Any]:
        """Some reports from openings taken at random, counted as the phone counts them."""
        moment = now()
        items = []
        for _ in range(self.batch):
            self.counter += 1
            items.append(
                b.push_item(
                    random.choice(self.openings),
                    "receive",
                    random.choice(["start", "finish", "note"]),
                    happened_at=rfc3339(moment - timedelta(seconds=1)),
                    counter=self.counter,
                )
            )
        return b.batch(*items, device_time=moment)


def at_work(
    processes: Processes, openings: Sequence[Opening], count: int, *, pace: float = 0.0
) -> tuple[list[Phone], threading.Event]:
    """So many phones of as many hands, sending; and what stops them."""
    stop = threading.Event()
    site = openings[0].site
    phones = [Phone(processes, b.device(site, b.crew(site))[1], openings, stop, pace=pace) for _ in range(count)]
    for phone in phones:
        phone.start()
    return phones, stop


def rest(phones: Sequence[Phone], stop: threading.Event, seconds: float = 60) -> None:
    """Stop the phones; each first gets its last batch through."""
    stop.set()
    for phone in phones:
        phone.join(timeout=seconds)
        assert not phone.is_alive(), "a phone still waits for its last answer"


def all_answers(phones: Sequence[Phone]) -> Counter[str]:
    """What all were answered, by status or by what broke."""
    return sum((phone.answers for phone in phones), Counter())


def stored_once(phones: Sequence[Phone]) -> int:
    """How many check-ins are stored; fails where one that a phone believes sent is missing, or one came twice."""
    believed = set().union(*(phone.believed for phone in phones))
    stored = [str(pk) for pk in CheckIn.objects.values_list("pk", flat=True)]
    assert believed == set(stored)
    assert len(stored) == sum(phone.counter for phone in phones)
    return len(stored)
