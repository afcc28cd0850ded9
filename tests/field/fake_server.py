"""A server of the sync contract, small enough to read, that can be told to misbehave.

It stands in for the real one where a test is about the phone: what was on the wire, and how the phone takes a lost
answer, a stumble or a refusal. Nothing here judges work.
"""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.csrf import csrf_exempt

from tests.field.fake_site import PERSON_ID, SITE_ID, whole_site

Fault = Callable[[list[dict[str, Any]]], HttpResponse | None]


@dataclass
class FakeServer:
    """What the server holds and how it shall misbehave next."""

    changes: list[dict[str, Any]] = field(default_factory=whole_site)
    page: int = 500
    reset_from: str = ""
    codes: set[str] = field(default_factory=lambda: {"GOODCODE23"})
    tokens: set[str] = field(default_factory=set)
    stored: dict[str, str] = field(default_factory=dict)
    kept_aside: dict[str, str] = field(default_factory=dict)
    photos: dict[str, bytes] = field(default_factory=dict)
    pushes: list[list[str]] = field(default_factory=list)
    pulls: list[str] = field(default_factory=list)
    fault: Fault | None = None
    signing_code: str = "804711"
    person: str = PERSON_ID

    def items(self) -> list[dict[str, Any]]:
        """Every stored item, in the order stored."""
        return [json.loads(text) for text in self.stored.values()]

    def take(self, raw: dict[str, Any]) -> dict[str, Any]:
        code = raw.pop("signing_code", None)
        text = json.dumps(raw, sort_keys=True)
        if (known := self.stored.get(raw["id"])) is not None:
            return _result(raw, "known") if known == text else _result(raw, "refused", "Other content under this id.")
        if raw["action"] == "sign" and raw.get("signer") and code != self.signing_code:
            return _result(raw, "refused", "The signing code is wrong. Sign again with the right one.")
        if raw["note"].startswith("refuse"):
            return _result(raw, "refused", "note: not in this test.")
        if raw["opening"] not in {c["data"]["number"] for c in self.changes if c["type"] == "opening" and c["data"]}:
            self.kept_aside[raw["id"]] = text
            return _result(raw, "kept_aside", "Kept whole for the supervisor to place: unknown opening.")
        self.stored[raw["id"]] = text
        return _result(raw, "stored")


def _result(raw: dict[str, Any], outcome: str, detail: str = "") -> dict[str, Any]:
    problem = {"type": "/problems/test", "title": "Test", "status": 422, "detail": detail} if detail else None
    return {"id": raw["id"], "outcome": outcome, "verdict": None, "problem": problem}


server = FakeServer()


def fresh_server() -> FakeServer:
    """Start over; the views look at this one."""
    globals()["server"] = FakeServer()
    return server


def lost_answer(items: list[dict[str, Any]]) -> HttpResponse:
    """Everything is stored, and the answer never comes: some box in between puts its own page in its place."""
    for raw in items:
        server.take(raw)
    return HttpResponse("<html>sign in to the network</html>")


def asks_to_wait(seconds: int) -> Fault:
    """429 with Retry-After."""
    return lambda _: _problem(429, "Too many requests", {"Retry-After": str(seconds)})


def breaks_on(number: str) -> Fault:
    """500 whenever a batch holds a report of that opening."""
    return lambda items: _problem(500, "broken") if any(raw["opening"] == number for raw in items) else None


def _problem(status: int, detail: str, headers: dict[str, str] | None = None) -> JsonResponse:
    body = {"type": "/problems/test", "title": "Test", "status": status, "detail": detail}
    return JsonResponse(body, status=status, headers=headers, content_type="application/problem+json")


def _is_known(request: HttpRequest) -> bool:
    return request.headers.get("Authorization", "").removeprefix("Bearer ") in server.tokens


@csrf_exempt
def enrol(request: HttpRequest) -> HttpResponse:
    given = json.loads(request.body)
    if given["code"] not in server.codes:
        return _problem(422, "This code is not good. Ask for a new one.")
    server.codes.discard(given["code"])
    token = f"st_{len(server.tokens)}"
    server.tokens.add(token)
    device = {"id": f"device-{token}", "name": given["name"], "site": SITE_ID, "person": server.person}
    return JsonResponse({"token": token, "device": device}, status=201)


@csrf_exempt
def push(request: HttpRequest) -> HttpResponse:
    if not _is_known(request):
        return _problem(401, "This token is not good any more. Enroll the phone again.")
    items = json.loads(request.body)["check_ins"]
    server.pushes.append([raw["id"] for raw in items])
    if server.fault and (answer := server.fault(items)) is not None:
        return answer
    return JsonResponse({"results": [server.take(raw) for raw in items]})


def pull(request: HttpRequest) -> HttpResponse:
    if not _is_known(request):
        return _problem(401, "This token is not good any more. Enroll the phone again.")
    cursor = request.GET.get("cursor", "")
    server.pulls.append(cursor)
    reset = bool(cursor) and cursor == server.reset_from
    start = 0 if reset or not cursor else int(cursor.split("-")[-1])
    end = start + min(server.page, int(request.GET["limit"]))
    more = end < len(server.changes)
    place = min(end, len(server.changes))
    changes = server.changes[start:end]
    return JsonResponse({"cursor": f"c-{place}", "more": more, "reset": reset, "changes": changes})


@csrf_exempt
def photo(request: HttpRequest, sha: str) -> HttpResponse:
    if not _is_known(request):
        return _problem(401, "This token is not good any more. Enroll the phone again.")
    if hashlib.sha256(request.body).hexdigest() != sha:
        return _problem(422, "The digest is not that of the picture.")
    server.photos[sha] = request.body
    return HttpResponse(status=204)
