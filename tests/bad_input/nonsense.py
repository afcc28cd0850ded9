"""What nobody means to send: pushes, photos and schedules, each near enough to a good one to be looked into.

Drawn from one seeded chance, so that a number and a seed bring back the same kinds of nonsense; ids are new each time.
"""

import csv
import hashlib
import json
import random
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any
from uuid import UUID

from PIL import Image

from openings.models import Opening
from tests import builders as b
from tests.openings.intake import sheets

# None of it is good everywhere, some of it is somewhere: text of people, of spreadsheets, of attackers, and numbers.
TEXTS = [
    "", " ", "\x00", "\x1b[31m", "😀", "\ud800", "\u202e102", "\ufeff101", "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>", "=HYPERLINK(\"x\")", "@SUM(A1)", "{{ 7*7 }}", "{% now %}", "%s%n",
    "'; DROP TABLE",    "../../etc", "A" * 41,
    "n" * 4001, "é" * 39, "１０１", "null", "NaN", "-0", "1e400", "9" * 400, "3'-0\"", "1/0",
    "36 1/16", "36 1/0", "-36", "0x24", "2026-13-40", "٢٠٢٦", "a/b", "a\\b", "a?b#c", "..", "%2e%2e", "\r\nX: y", "١",
]  # fmt: skip
VALUES: list[Any] = [
    *TEXTS, None, True, False, 0, -1, 7, 2**31, 2**63, 10**400, 0.1, float("nan"), float("inf"), [], {}, [[]], [None],
    {"": ""}, {"a": {"b": [1, {"c": None}]}}, ["ab" * 32] * 12, "ab" * 32, {"twist": "3/16"}, {"width_head": "36"},
    {"floor_rise": [[0, "0"], [45, "1/8"]]}, {"floor_rise": [[1e308, "1"]]}, {"spreaders_in": True},
]  # fmt: skip
MEMBERS = [
    "id", "site", "opening", "stage", "action", "happened_at", "counter", "about", "readings", "answers", "note",
    "photos", "signer", "code", "helmet",
]  # fmt: skip
ACTIONS = ["start", "finish", "note", "hold", "release", "void", "sign"]
JSON = "application/json"


@dataclass(frozen=True)
class Sent:
    """One request's content, and how it calls itself."""

    content: bytes
    kind: str
    name: str = ""


def damaged(content: bytes, chance: random.Random) -> bytes:
    """A few bytes other than they were; now and then cut off, doubled or with nonsense put in."""
    made = bytearray(content)
    for _ in range(chance.choice((1, 3, 8))):
        if made:
            made[chance.randrange(len(made))] = chance.randrange(256)
    way = chance.random()
    if way < 0.1:
        return bytes(made[: chance.randrange(len(made) + 1)])
    if way < 0.15:
        return bytes(made) * 2
    if way < 0.2:
        at = chance.randrange(len(made) + 1)
        return bytes(made[:at]) + chance.randbytes(16) + bytes(made[at:])
    return bytes(made)


class Pushes:
    """Batches of reports on real openings, some of them good, so that nonsense meets what is stored already."""

    def __init__(self, openings: Sequence[Opening], chance: random.Random):
        self.openings, self.chance = openings, chance
        self.stages = [stage["code"] for stage in openings[0].plan.stages]
        self.known: list[str] = []

    def item(self) -> Any:
        chance = self.chance
        of, at = chance.choice(self.openings), b.MONDAY + b.MINUTE * chance.randrange(20_000)
        given: dict[str, Any] = b.push_item(
            of, chance.choice(self.stages), chance.choice(ACTIONS), happened_at=b.rfc3339(at)
        )
        given["id"] = str(UUID(int=(UUID(given["id"]).int & ~0xFFFFFFFF) | chance.getrandbits(32)))
        if chance.random() < 0.5:
            given |= {"readings": b.TWISTED_READINGS, "answers": b.TRUENESS_ANSWERS, "note": chance.choice(TEXTS)}
        if self.known and chance.random() < 0.3:
            given["about"] = chance.choice(self.known)
        self.known = [*self.known[-50:], given["id"]]
        if chance.random() < 0.5:
            for member in chance.sample(MEMBERS, chance.choice((1, 1, 2, 4))):
                given[member] = chance.choice(VALUES)
        if chance.random() < 0.1:
            given.pop(chance.choice(sorted(given)))
        return given if chance.random() < 0.95 else chance.choice(VALUES)

    def make(self) -> Sent:
        chance = self.chance
        body: Any = b.batch(*(self.item() for _ in range(chance.choice((1, 1, 2, 3)))))
        if chance.random() < 0.15:
            body[chance.choice(["device_time", "check_ins", "more"])] = chance.choice(VALUES)
        content = json.dumps(body if chance.random() < 0.97 else chance.choice(VALUES)).encode()
        way = chance.random()
        if way < 0.15:
            content = damaged(content, chance)
        elif way < 0.17:
            content = b"[" * chance.choice((10, 1000, 100_000)) + content
        return Sent(
            content, JSON if chance.random() < 0.97 else chance.choice(["text/plain", "x", "multipart/form-data"])
        )


class Photos:
    """Pictures of the kinds that are taken and of some that aren't, most of them damaged."""

    def __init__(self, chance: random.Random):
        self.chance = chance
        self.whole = {kind: self._pictures(kind) for kind in ("JPEG", "PNG", "WEBP", "GIF", "BMP", "TIFF")}

    def _pictures(self, kind: str) -> list[bytes]:
        found = []
        for size in ((1, 1), (64, 40), (900, 700)):
            file = BytesIO()
            Image.effect_noise(size, 60).convert("RGB").save(file, kind)
            found.append(file.getvalue())
        return found

    def make(self) -> Sent:
        kind = self.chance.choice([*self.whole, "JPEG", "PNG", "WEBP", "JPEG", "PNG", "WEBP"])
        content = self.chance.choice(self.whole[kind])
        if self.chance.random() < 0.75:
            content = damaged(content, self.chance)
        digest = hashlib.sha256(content).hexdigest() if self.chance.random() < 0.95 else "ab" * 32
        return Sent(content, f"image/{kind.lower()}", digest)


class Schedules:
    """Door schedules with cells nobody would type, as text and as workbooks, some of them damaged as files."""

    def __init__(self, folder: Path, chance: random.Random):
        self.chance = chance
        writers = {"xlsx": sheets.xlsx, "xls": sheets.xls, "ods": sheets.ods}
        self.books = {end: write(folder / f"doors.{end}", sheets.PLAIN).read_bytes() for end, write in writers.items()}

    def _text(self) -> bytes:
        rows = [list(row) for row in sheets.PLAIN]
        for _ in range(self.chance.choice((0, 1, 2, 6))):
            row = self.chance.choice(rows)
            row[self.chance.randrange(len(row))] = self.chance.choice(TEXTS)
        file = StringIO(newline="")
        writer = csv.writer(file, delimiter=self.chance.choice(",,;\t"), escapechar="\\")
        writer.writerows(rows)
        coding = self.chance.choice(["utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252"])
        return file.getvalue().encode(coding, "surrogatepass" if coding.startswith("utf") else "replace")

    def make(self) -> Sent:
        end = self.chance.choice(["csv", "csv", "csv", "txt", *self.books])
        content = self.books.get(end) or self._text()
        if self.chance.random() < (0.85 if end in self.books else 0.2):
            content = damaged(content, self.chance)
        called = end if self.chance.random() < 0.95 else self.chance.choice(["ifc", "exe", "csv", "xlsx", ""])
        return Sent(content, "application/octet-stream", f"doors.{called}")
