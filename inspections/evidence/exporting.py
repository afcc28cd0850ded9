"""The sealed record as JSON that anyone can verify without this program."""

from collections.abc import Collection, Iterator
from typing import Any
from uuid import UUID

from inspections.evidence.verifying import CHUNK, anchor_of, subjects_of
from inspections.models import SealedEntry
from inspections.services.sealing import content_of, heading
from openings.models import Site

FORM = {"form": "sealed-record", "version": 1}


def about(site: Site) -> dict[str, Any]:
    """What a record is of, and where its chain ends."""
    end = anchor_of(site)
    return FORM | {"site": site.code, "site_id": str(site.pk), "end": {"n": end.n, "digest": end.digest}}


def entries_of(site: Site, *, with_content: Collection[UUID] | None = None, after: int = 0) -> Iterator[dict[str, Any]]:
    """Every entry of a site's chain in order: its heading, its digest, and the content it seals.

    Those up to number `after` are left out. Where `with_content` names check-ins, only those show their content; the
    others still prove the chain. Four queries for every 500 entries.
    """
    last = after
    while entries := list(SealedEntry.objects.filter(site=site, n__gt=last).order_by("n")[:CHUNK]):
        wanted = [e.subject for e in entries if with_content is None or e.subject in with_content]
        check_ins, checks, sign_offs = subjects_of(wanted)
        for entry in entries:
            shown: dict[str, Any] = {"heading": heading(entry), "digest": entry.digest}
            if check_in := check_ins.get(entry.subject):
                shown["content"] = content_of(check_in, checks.get(entry.subject), sign_offs.get(entry.subject))
            yield shown
        last = entries[-1].n
