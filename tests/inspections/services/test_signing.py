"""Sign-offs are chained: each carries the digest of the one before it."""

import hashlib
import json

import pytest

from inspections.models import SignOff
from inspections.services.signing import digest_of, sealed_entry
from tests import builders as b

pytestmark = pytest.mark.django_db


def test_each_sign_off_carries_the_digest_of_the_one_before():
    site = b.site()
    for opening in b.openings(site, 2):
        b.work_up_to(opening, "trueness")
    first, second = SignOff.objects.filter(site=site)
    assert first.digest_before == ""
    assert second.digest_before == first.digest
    assert [first.n, second.n] == [1, 2]


def test_digest_is_sha256_of_the_canonical_json():
    """RFC 8785 for plain strings and small integers: sorted keys, no spaces; recomputed with the standard library."""
    opening = b.opening(b.site())
    b.work_up_to(opening, "trueness")
    sign_off = SignOff.objects.get()
    text = json.dumps(sealed_entry(sign_off), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert sign_off.digest == hashlib.sha256(text.encode()).hexdigest()
    sign_off.signed_at = b.MONDAY.replace(year=2020)
    assert digest_of(sign_off) != sign_off.digest


def test_reader_and_signer_are_two_persons_unless_the_site_says_otherwise():
    site = b.site()
    opening = b.opening(site)
    at = b.work_up_to(opening, "anchor")
    inspector = b.inspector(site)
    reading = b.frame_check(inspector, opening, at=at)
    result = b.record(inspector, b.report(opening, "trueness", "sign", at=at, about=reading.pk), of=site)[0]
    assert result.outcome == "refused"
    assert "two persons" in result.problem["detail"]
    site.signer_differs_from_reader = False
    site.save()
    assert b.sign_off(inspector, reading, at=at).action == "sign"
