"""Proving the sealed record of a site: every digest recomputed, every entry held against what it seals.

Found is what was altered, removed, put in another order, or added around the chain. What no chain can show by itself
is that its end was cut off, entries and facts together; that is what anchors kept elsewhere are for.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q

from inspections.models import CheckIn, FrameCheck, SealedEntry, SignOff
from inspections.models.checkins import Action
from inspections.services.sealing import content_of, digest_of_json, heading
from inspections.services.signing import digest_of
from openings.models import Site

CHUNK = 500
MOST_UNSEALED = 100  # named one by one


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong. `n` is the number of the entry, None for what has no entry."""

    n: int | None
    about: str
    what: str

    def __str__(self) -> str:
        return f"entry {self.n}, {self.about}: {self.what}" if self.n is not None else f"{self.about}: {self.what}"


@dataclass(frozen=True, slots=True)
class Anchor:
    """Where a chain had come to at some moment, in one line that can be kept elsewhere."""

    site: str
    n: int
    digest: str

    def __str__(self) -> str:
        return f"{self.site} {self.n} {self.digest}"


def parse_anchor(line: str) -> Anchor:
    """Read an anchor's line; raises ValueError saying what was expected."""
    words = line.split()
    if len(words) != 3 or not words[1].isdecimal() or len(words[2]) != 64:
        raise ValueError(f"read {line[:120]!r}; expected a site's code, a number and 64 hexadecimal digits")
    return Anchor(words[0], int(words[1]), words[2].lower())


def anchor_of(site: Site) -> Anchor:
    """The end of a site's chain; number 0 where nothing was sealed yet. One query."""
    last = SealedEntry.objects.filter(site=site).order_by("-n").first()
    return Anchor(site.code, last.n if last else 0, last.digest if last else "0" * 64)


def check_anchor(site: Site, anchor: Anchor) -> Fault | None:
    """What is wrong with a chain by an anchor taken of it earlier. One query."""
    if anchor.site != site.code:
        return Fault(anchor.n, "anchor", f"was taken of the site {anchor.site}, not of {site.code}")
    if anchor.n == 0:
        return None
    entry = SealedEntry.objects.filter(site=site, n=anchor.n).first()
    if entry is None:
        return Fault(anchor.n, "anchor", "the chain no longer reaches this entry: its end was cut off")
    if entry.digest != anchor.digest:
        return Fault(anchor.n, _named(entry), "is not the entry the anchor was taken of: the record was rewritten")
    return None


def faults_of(site: Site) -> Iterator[Fault]:
    """Everything wrong with a site's sealed record, in its order; nothing where it is whole.

    Five queries for every 500 entries and a few more; memory does not grow with the record.
    """
    expected, before = 1, ""
    for entries in _chunks(site):
        yield from _links(entries, expected, before)
        yield from _contents(entries)
        expected, before = entries[-1].n + 1, entries[-1].digest
    yield from _unsealed(site)
    yield from _signatures(site)


def _chunks(site: Site) -> Iterator[Sequence[SealedEntry]]:
    last = 0
    while entries := list(SealedEntry.objects.filter(site=site, n__gt=last).order_by("n")[:CHUNK]):
        yield entries
        last = entries[-1].n


def _links(entries: Sequence[SealedEntry], expected: int, before: str) -> Iterator[Fault]:
    """Whether every entry follows the one before it and is what it was."""
    for entry in entries:
        if entry.n != expected:
            missing = f"entry {expected}" if entry.n == expected + 1 else f"entries {expected} to {entry.n - 1}"
            yield Fault(entry.n, _named(entry), f"{missing} before it removed")
        elif entry.digest_before != before:
            yield Fault(
                entry.n, _named(entry), "does not follow the entry before it: replaced, or put in another order"
            )
        if digest_of_json(heading(entry)) != entry.digest:
            yield Fault(entry.n, _named(entry), "the entry itself was altered")
        expected, before = entry.n + 1, entry.digest


def _contents(entries: Sequence[SealedEntry]) -> Iterator[Fault]:
    """Whether what each entry seals is still there and still the same."""
    ids = [entry.subject for entry in entries]
    check_ins, checks, sign_offs = subjects_of(ids)
    for entry in entries:
        check_in = check_ins.get(entry.subject)
        if check_in is None:
            yield Fault(entry.n, _named(entry), "the check-in it seals was removed")
            continue
        content = content_of(check_in, checks.get(entry.subject), sign_offs.get(entry.subject))
        if digest_of_json(content) != entry.content_digest:
            yield Fault(entry.n, _named(entry), "what it seals was altered")


def subjects_of(ids: Sequence[UUID]) -> tuple[dict[UUID, CheckIn], dict[UUID, FrameCheck], dict[UUID, SignOff]]:
    """What entries of these subjects seal, by the key of the check-in. Three queries."""
    return (
        CheckIn.objects.in_bulk(ids),
        FrameCheck.objects.in_bulk(ids),
        SignOff.objects.in_bulk(ids),
    )


def _unsealed(site: Site) -> Iterator[Fault]:
    """What should have an entry and has none: put in behind the server's back, or its entry taken out at the end."""
    sealed = SealedEntry.objects.filter(site=site).values("subject")
    wanted = Q(frame_check__isnull=False) | Q(action__in=[Action.SIGN, Action.VOID])
    found = CheckIn.objects.filter(wanted, site=site).exclude(pk__in=sealed).select_related("opening").order_by("pk")
    for check_in in found[:MOST_UNSEALED]:
        about = f"{check_in.action} of {check_in.stage} at {check_in.opening.number} ({check_in.pk})"
        yield Fault(None, about, "stands in no entry: added around the record, or its entry removed")


def _signatures(site: Site) -> Iterator[Fault]:
    """The sign-offs' own chain."""
    expected, before, last = 1, "", 0
    while rows := list(SignOff.objects.filter(site=site, n__gt=last).select_related("opening").order_by("n")[:CHUNK]):
        for row in rows:
            about = f"sign-off {row.n} of {row.stage} at {row.opening.number}"
            if row.n != expected or row.digest_before != before:
                yield Fault(
                    None, about, "does not follow the sign-off before it: one was removed, or their order changed"
                )
            if digest_of(row) != row.digest:
                yield Fault(None, about, "was altered")
            expected, before = row.n + 1, row.digest
        last = rows[-1].n


def _named(entry: SealedEntry) -> str:
    return f"{entry.get_kind_display()}, {entry.stage} at {entry.opening_number} ({entry.subject})"
