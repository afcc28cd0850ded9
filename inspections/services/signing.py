"""The seal of sign-offs: each carries the digest of the one before it on the site.

The digest is SHA-256 over the RFC 8785 canonical JSON of the entry, so that anyone can recompute it.
"""

import hashlib
from typing import Any

from inspections.models import CheckIn, SignOff
from openings.models import Site
from sitetrack.kit.canonical import canonical_json
from sitetrack.kit.clock import rfc3339


def sealed_entry(sign_off: SignOff) -> dict[str, Any]:
    """What the digest of a sign-off is taken over."""
    return {
        "n": sign_off.n,
        "site": str(sign_off.site_id),
        "opening": str(sign_off.opening_id),
        "stage": sign_off.stage,
        "check_in": str(sign_off.check_in_id),
        "about": str(sign_off.about),
        "signer": str(sign_off.signer_id),
        "company": str(sign_off.company_id),
        "role": sign_off.role,
        "signed_at": rfc3339(sign_off.signed_at),
        "waiver_reason": sign_off.waiver_reason,
        "digest_before": sign_off.digest_before,
    }


def digest_of(sign_off: SignOff) -> str:
    """SHA-256, in hex, of the entry's canonical JSON."""
    return hashlib.sha256(canonical_json(sealed_entry(sign_off))).hexdigest()


def chain_sign_offs(site: Site, signatures: list[CheckIn]) -> list[SignOff]:
    """Sign-offs for stored signatures, chained to the site's last; the caller holds the site's lock."""
    if not signatures:
        return []
    last = SignOff.objects.filter(site=site).order_by("-n").first()
    n, before = (last.n, last.digest) if last else (0, "")
    chained = []
    for check_in in signatures:
        if check_in.about is None:
            raise ValueError("a signature names what it signs")
        n += 1
        sign_off = SignOff(
            check_in=check_in,
            site=site,
            n=n,
            opening_id=check_in.opening_id,
            stage=check_in.stage,
            about=check_in.about,
            signer_id=check_in.person_id,
            company_id=check_in.company_id,
            role=check_in.role,
            signed_at=check_in.corrected_at,
            waiver_reason=check_in.note if check_in.waives else "",
            digest_before=before,
        )
        sign_off.digest = before = digest_of(sign_off)
        chained.append(sign_off)
    return chained
