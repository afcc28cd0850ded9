"""Items of a push, from raw JSON to reports: well-formed or refused in words, each by itself.

Only the form is looked at. Whether the site has such an opening or stage, and whether its sender may say this, is
decided where check-ins are written. A member this server has no word for is kept in `extra`, since a newer app may
send it; a missing optional one has its default, since an older app does not.
"""

import json
import re
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from inspections.models.checkins import Action
from inspections.services.check_ins import content_digest
from inspections.services.reports import Report
from inspections.sync.fields import (
    bad_field,
    read_answers,
    read_counter,
    read_digests,
    read_id,
    read_key,
    read_moment,
    read_readings,
    read_text,
)
from sitetrack.kit.problems import BadInput, FieldError

MOST_NOTE = 4000
MOST_PHOTOS = 12
MOST_CODE = 40  # what a stage code or an opening number may have
MOST_CHARACTERS = 32_000
MOST_LEVELS = 8

NEEDS_ABOUT = {Action.SIGN, Action.VOID, Action.RELEASE}
KNOWN = {
    "id", "site", "opening", "stage", "action", "happened_at", "counter", "about", "readings", "answers", "note",
    "photos",
}  # fmt: skip
# Left out before anything else looks at the item: it is in no digest, no row and no answer.
SECRET = "signing_code"  # noqa: S105 - the member's name

# A NUL character, which no data base text may hold, as JSON writes it: after an even number of backslashes.
_NUL = re.compile(r"(?<!\\)(?:\\\\)*\\u0000")


@dataclass(frozen=True, slots=True)
class Item:
    """A well-formed item: the site it is for, and the report."""

    site: UUID
    report: Report


def read_item(raw: Any) -> Item:
    """Read one item as sent; raises `BadInput` naming the first field that can't be used."""
    if not isinstance(raw, dict):
        raise bad_field("check_in", raw, "an object with id, site, opening, stage, action and happened_at")
    secret = raw.get(SECRET)
    if SECRET in raw:
        raw = {name: value for name, value in raw.items() if name != SECRET}
    id_ = read_id("id", raw.get("id"))
    _check_whole(raw)
    site = read_key("site", raw.get("site"))
    action = raw.get("action")
    if action not in Action.values:
        raise bad_field("action", action, "one of " + ", ".join(Action.values))
    about = None if raw.get("about") is None else read_id("about", raw["about"])
    if about is None and action in NEEDS_ABOUT:
        raise bad_field("about", None, f"the id of the check-in that this {action} is about")
    signer = _signer(raw) if action == Action.SIGN else None
    report = Report(
        id=id_,
        opening=read_text("opening", raw.get("opening"), least=1, most=MOST_CODE),
        stage=read_text("stage", raw.get("stage"), least=1, most=MOST_CODE),
        action=action,
        happened_at=read_moment("happened_at", raw.get("happened_at")),
        digest=content_digest(raw),
        raw=raw,
        counter=read_counter("counter", raw.get("counter")),
        about=about,
        readings=read_readings("readings", raw.get("readings")),
        answers=read_answers("answers", raw.get("answers")),
        note=read_text("note", raw.get("note"), most=MOST_NOTE),
        photos=read_digests("photos", raw.get("photos"), most=MOST_PHOTOS),
        extra={name: value for name, value in raw.items() if name not in KNOWN},
        signer=signer,
        signing_code=secret if isinstance(secret, str) and len(secret) <= MOST_CODE else "",
    )
    return Item(site, report)


def _signer(raw: dict[str, Any]) -> UUID | None:
    # It stays among the extra members too: they tell later that this was signed on another's phone.
    given = raw.get("signer")
    return None if given is None else read_key("signer", given, "the id of the person who signs")


def sent_id(raw: Any) -> str | None:
    """The id of an item that may be malformed, so that its sender finds it again; None where there is none to show."""
    given = raw.get("id") if isinstance(raw, dict) else None
    return given if isinstance(given, str) and len(given) <= 64 and given.isprintable() else None


def _check_whole(raw: dict[str, Any]) -> None:
    """Refuse what can't be kept as it was sent: too much, too deep, or not text that can be stored."""
    if _deeper_than(raw, MOST_LEVELS):
        raise _whole("nested too deeply", f"at most {MOST_LEVELS} levels")
    try:
        text = json.dumps(raw, ensure_ascii=False, allow_nan=False)
        text.encode()
    except ValueError:  # an infinite number, or half of a surrogate pair
        raise _whole("a number or text that can't be stored", "finite numbers and whole characters") from None
    if len(text) > MOST_CHARACTERS:
        raise _whole(f"{len(text):,} characters", f"at most {MOST_CHARACTERS:,}")
    if _NUL.search(text):
        raise _whole("a NUL character", "text without NUL characters")


def _whole(read: str, expected: str) -> BadInput:
    return BadInput(
        f"The item has {read}; expected {expected}.",
        errors=[FieldError("check_in", "can't be kept", read=read, expected=expected)],
    )


def _deeper_than(value: Any, levels: int) -> bool:
    if not isinstance(value, dict | list):
        return False
    if levels == 0:
        return True
    return any(_deeper_than(inner, levels - 1) for inner in (value.values() if isinstance(value, dict) else value))
