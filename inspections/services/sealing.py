"""The seal over what is judged, signed and taken back: each entry carries the digest of the one before it.

A digest is SHA-256 over RFC 8785 canonical JSON, so that anyone can recompute it. An entry's digest is taken over its
heading, which holds the digest of its content: the chain can be shown whole without showing every company's readings.
"""

import hashlib
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from inspections.models import CheckIn, FrameCheck, SealedEntry, SignOff
from inspections.models.checkins import Action
from inspections.services.signing import sealed_entry
from openings.models import Site
from sitetrack.kit.canonical import canonical_json
from sitetrack.kit.clock import rfc3339

_PLACE = b'"judged":null'


def digest_of_json(value: Any) -> str:
    """SHA-256, in hex, of a value's canonical JSON."""
    return hashlib.sha256(canonical_json(value)).hexdigest()


def digest_of_content(content: dict[str, Any], judged: bytes | None) -> str:
    """The digest of `content_of`, whose largest part by far, what was judged, is written in canonical JSON already.

    A place is kept for that part and then filled. No text can look like the place, since text has its quotes escaped;
    and before `check` no member holds a null under a name.
    """
    if judged is None:
        return digest_of_json(content)
    whole = canonical_json(content | {"check": content["check"] | {"judged": None}})
    return hashlib.sha256(whole.replace(_PLACE, _PLACE[:-4] + judged, 1)).hexdigest()


def heading(entry: SealedEntry) -> dict[str, Any]:
    """What the digest of an entry is taken over."""
    return {
        "n": entry.n,
        "site": str(entry.site_id),
        "kind": str(entry.kind),
        "subject": str(entry.subject),
        "opening_number": entry.opening_number,
        "stage": entry.stage,
        "sealed_at": rfc3339(entry.sealed_at),
        "content_digest": entry.content_digest,
        "digest_before": entry.digest_before,
    }


def kind_of(check_in: CheckIn, frame_check: FrameCheck | None) -> SealedEntry.Kind | None:
    """What a check-in is sealed as; None for work and notes, which are not."""
    if frame_check:
        return SealedEntry.Kind.CHECK
    return {Action.SIGN: SealedEntry.Kind.SIGNATURE, Action.VOID: SealedEntry.Kind.VOID}.get(Action(check_in.action))


def content_of(check_in: CheckIn, frame_check: FrameCheck | None, sign_off: SignOff | None) -> dict[str, Any]:
    """Everything that is sealed of a check-in: what was sent, by whom, when, and what was made of it."""
    return {
        "id": str(check_in.pk),
        "site": str(check_in.site_id),
        "opening": str(check_in.opening_id),
        "stage": check_in.stage,
        "action": str(check_in.action),
        "about": _text(check_in.about),
        "person": str(check_in.person_id),
        "company": str(check_in.company_id),
        "role": str(check_in.role),
        "device": _text(check_in.device_id),
        "counter": _text(check_in.counter),
        "happened_at": rfc3339(check_in.happened_at),
        "corrected_at": rfc3339(check_in.corrected_at),
        "received_at": rfc3339(check_in.received_at),
        "readings": check_in.readings,
        "answers": check_in.answers,
        "note": check_in.note,
        "photos": check_in.photos,
        "verdict": str(check_in.verdict),
        "waives": check_in.waives,
        "as_sent": check_in.content_digest,
        "check": _judged(frame_check) if frame_check else None,
        "sign_off": sealed_entry(sign_off) | {"digest": sign_off.digest} if sign_off else None,
    }


def chain_record(
    site: Site,
    check_ins: Sequence[CheckIn],
    frame_checks: Mapping[UUID, FrameCheck],
    sign_offs: Mapping[UUID, SignOff],
    written: Mapping[UUID, bytes],
    now: datetime,
) -> list[SealedEntry]:
    """Entries for what was just stored, chained to the site's last; the caller holds the site's lock.

    `written` is the canonical JSON of what each frame check judged.
    """
    sealed = [(c, kind) for c in check_ins if (kind := kind_of(c, frame_checks.get(c.pk)))]
    if not sealed:
        return []
    last = SealedEntry.objects.filter(site=site).order_by("-n").first()
    done, before = (last.n, last.digest) if last else (0, "")
    chained = []
    for n, (check_in, kind) in enumerate(sealed, start=done + 1):
        content = content_of(check_in, frame_checks.get(check_in.pk), sign_offs.get(check_in.pk))
        entry = SealedEntry(
            site=site,
            n=n,
            kind=kind,
            subject=check_in.pk,
            opening_number=check_in.opening.number,
            stage=check_in.stage,
            sealed_at=now,
            content_digest=digest_of_content(content, written.get(check_in.pk)),
            digest_before=before,
        )
        entry.digest = before = digest_of_json(heading(entry))
        chained.append(entry)
    return chained


def _judged(frame_check: FrameCheck) -> dict[str, Any]:
    return {
        "verdict": str(frame_check.verdict),
        "profile": str(frame_check.profile_id),
        "read_at": rfc3339(frame_check.read_at),
        "judged": frame_check.judged,
    }


def _text(value: Any) -> str | None:
    return None if value is None else str(value)
