"""One site put together of copies of pattern buildings, whole: numbered, chained and written in one transaction."""

import secrets
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from random import Random
from string import ascii_uppercase
from typing import Any
from uuid import UUID

from django.db import models, transaction

from inspections.models import Alert, CheckIn, SealedEntry
from inspections.models.checkins import Action
from inspections.services.sealing import content_of, digest_of_json, heading
from inspections.services.signing import chain_sign_offs
from inspections.services.site_alerts import raise_site_alerts
from openings.models import ScheduleChange, ScheduleRevision, Site
from openings.services.changes import next_numbers
from sitetrack.access.models import Device, RecordedChange
from sitetrack.demo.copying import Kept, Renaming
from sitetrack.demo.patterns import OF_OPENING, OF_SITE, Of, Pattern, Seal
from sitetrack.kit.bulk import insert_rows, insert_values


@dataclass(frozen=True, slots=True)
class Part:
    """A building to be: the pattern's first so many openings in walking order."""

    pattern: Pattern
    size: int
    code: str

    @property
    def is_whole(self) -> bool:
        """Whether it has every opening of its pattern."""
        return self.size == self.pattern.size

    def of(self, model: type[models.Model]) -> Iterable[Of]:
        """The rows of a model that are of its openings."""
        return (each for each in self.pattern.of_opening[model] if each.place < self.size)

    def seals(self) -> Iterable[Seal]:
        """The links of the sealed record that are of its openings."""
        return (seal for seal in self.pattern.seals if seal.place < self.size)


def parts_of(openings: int, patterns: Sequence[Pattern], rng: Random) -> list[Part]:
    """Buildings for so many openings, each a copy of a pattern drawn by lot; the last may be a part of one."""
    chosen: list[tuple[Pattern, int]] = []
    left = openings
    while left:
        pattern = rng.choice(patterns)
        chosen.append((pattern, min(left, pattern.size)))
        left -= chosen[-1][1]
    letters = 1
    while len(ascii_uppercase) ** letters < len(chosen):
        letters += 1
    return [Part(pattern, size, _letters(place, letters)) for place, (pattern, size) in enumerate(chosen)]


def begun_first(parts: Sequence[Part]) -> Pattern:
    """The pattern whose crews began first: its site has everybody there, phones too, when the first work is done."""
    return min((part.pattern for part in parts), key=lambda pattern: pattern.numbered[0][0])


def _letters(place: int, count: int) -> str:
    found = ""
    for _ in range(count):
        place, letter = divmod(place, len(ascii_uppercase))
        found = ascii_uppercase[letter] + found
    return found


@transaction.atomic
def write_site(*, code: str, parts: Sequence[Part], shift: timedelta, rng: Random) -> Counter[type[models.Model]]:
    """Write a site of these buildings, every moment moved by `shift`; how many rows of each model it has.

    All of it or nothing. The memory it needs grows with the site, by its numbers and its chains.
    """
    return _Site(code, parts, shift, rng).write()


@dataclass(slots=True)
class _Site:
    code: str
    parts: Sequence[Part]
    shift: timedelta
    rng: Random
    written: Counter[type[models.Model]] = field(default_factory=Counter)
    sealed: list[tuple[int, int, int, SealedEntry]] = field(default_factory=list)
    signatures: dict[UUID, CheckIn] = field(default_factory=dict)

    def write(self) -> Counter[type[models.Model]]:
        first = begun_first(self.parts)
        to = Renaming(first.ids.anew(self.shift, self.rng), self.shift)
        site = first.site.copy(to, code=self.code, name=f"{_column(first.site, 'name')} {self.code}", change_counter=0)
        self._insert([site])
        for model, _key in OF_SITE:
            rows = [kept.copy(to) for _, kept in first.of_site[model].values()]
            if model is Device:
                for row in rows:
                    row.token_digest = secrets.token_hex(32)  # of no token: nobody has the phones
            self._insert(rows)
        self._insert(kept.copy(to) for kept in first.headings)
        self._insert(kept.copy(to) for kept in first.trail_of_site)
        numbers = _numbers(site, self.parts)
        for place, part in enumerate(self.parts):
            ids = part.pattern.ids.anew(self.shift, self.rng) | self._shared(first, part.pattern, to, site)
            renaming = Renaming(ids, self.shift, numbers[place], part.code)
            self._write_building(place, part, renaming)
        self._chain(site)
        raise_site_alerts(site=site, now=first.until + self.shift)
        return self.written

    def _shared(self, first: Pattern, pattern: Pattern, to: Renaming, site: Site) -> dict[UUID, UUID]:
        """What the site has once, by the ids that this pattern's site had for it."""
        shared = {pattern.site.columns[0]: site.pk}
        for model, _key in OF_SITE:
            there = first.of_site[model]
            shared |= {old: to.ids[there[key][0]] for key, (old, _) in pattern.of_site[model].items()}
        return shared

    def _insert(self, rows: Iterable[Any]) -> None:
        rows = list(rows)
        insert_rows(rows)
        if rows:
            self.written[type(rows[0])] += len(rows)

    def _insert_kept(self, kept: Iterable[Kept], to: Renaming) -> None:
        """The same for many rows of which nothing further is asked."""
        kept = list(kept)
        if kept:
            insert_values(kept[0].model, kept[0].fields, [each.values(to) for each in kept])
            self.written[kept[0].model] += len(kept)

    def _write_building(self, place: int, part: Part, to: Renaming) -> None:
        pattern = part.pattern
        self._insert(kept.copy(to, code=part.code, name=f"Building {part.code}") for kept in pattern.buildings)
        self._insert(kept.copy(to) for kept in pattern.floors)
        self._insert(self._revisions(place, part, to))
        for model, _name in OF_OPENING:
            self._insert_kept((each.row for each in part.of(model)), to)
        self._write_changes(part, to)
        self._insert_kept((each.row for each in part.of(Alert)), to)
        self._insert(_renamed(each.row.copy(to), part) for each in part.of(RecordedChange))
        if part.is_whole:  # an item kept aside names an opening that there is not, so it is of the building alone
            self._insert(_misread(kept.copy(to), part) for kept in pattern.kept_aside)
        self._seal(place, part, to)

    def _revisions(self, place: int, part: Part, to: Renaming) -> Iterable[ScheduleRevision]:
        """One after the other on the site, as if every building's schedule came by itself."""
        for kept in part.pattern.revisions:
            old = kept.columns[0]
            row: ScheduleRevision = kept.copy(to)
            row.label, row.n = f"{row.label}, building {part.code}", (row.n - 1) * len(self.parts) + place + 1
            if not part.is_whole:
                _count_again(
                    row,
                    [each for each in part.of(ScheduleChange) if _column(each.row, "revision_id") == old],
                    part.size,
                )
            yield row

    def _write_changes(self, part: Part, to: Renaming) -> None:
        """Changes of the schedule; what an alert may rest on is stored first, since the data base counts its key."""
        changes = list(part.of(ScheduleChange))
        named = [each for each in changes if _column(each.row, "kind") == ScheduleChange.Kind.CHANGED]
        stored = ScheduleChange.objects.bulk_create(each.row.copy(to) for each in named)
        to.changes.update((each.n, row.pk) for each, row in zip(named, stored, strict=True))
        self.written[ScheduleChange] += len(stored)
        self._insert_kept((each.row for each in changes if each.n not in to.changes), to)

    def _seal(self, place: int, part: Part, to: Renaming) -> None:
        """Keep what is to be chained once every building is there; of a signature the digest is still to come."""
        for seal in part.seals():
            entry, check_in = seal.row.copy(to), seal.check_in.copy(to)
            if check_in.action == Action.SIGN:
                self.signatures[check_in.pk] = check_in
            else:
                check = seal.check.copy(to) if seal.check else None
                entry.content_digest = digest_of_json(content_of(check_in, check, None))
            self.sealed.append((seal.at, place, seal.n, entry))

    def _chain(self, site: Site) -> None:
        """Chain the buildings' signatures and seals to one another in the order of their receipt."""
        entries = [entry for *_, entry in sorted(self.sealed, key=lambda each: each[:3])]
        signed = [self.signatures[entry.subject] for entry in entries if entry.subject in self.signatures]
        sign_offs = {sign_off.check_in_id: sign_off for sign_off in chain_sign_offs(site, signed)}
        self._insert(sign_offs.values())
        before = ""
        for n, entry in enumerate(entries, start=1):
            if sign_off := sign_offs.get(entry.subject):
                entry.content_digest = digest_of_json(content_of(self.signatures[entry.subject], None, sign_off))
            entry.n, entry.digest_before = n, before
            entry.digest = before = digest_of_json(heading(entry))
        self._insert(entries)


def _numbers(site: Site, parts: Sequence[Part]) -> list[dict[int, int]]:
    """The site's numbers for every building by its pattern's, in the order of their moments across the buildings."""
    order = sorted(
        (at, place, seq)
        for place, part in enumerate(parts)
        for at, seq, opening in part.pattern.numbered
        if opening < part.size
    )
    found: list[dict[int, int]] = [{} for _ in parts]
    for number, (_at, place, seq) in zip(next_numbers(site.pk, len(order)), order, strict=True):
        found[place][seq] = number
    return found


def _count_again(revision: ScheduleRevision, changes: Sequence[Of], openings: int) -> None:
    """What the revision came to on the openings that a part of a building has."""
    kinds: dict[str, set[int]] = {}
    for each in changes:
        kinds.setdefault(_column(each.row, "kind"), set()).add(each.place)
    revision.added = len(kinds.get(ScheduleChange.Kind.ADDED, ()))
    revision.changed = len(kinds.get(ScheduleChange.Kind.CHANGED, ()))
    revision.missing = len(kinds.get(ScheduleChange.Kind.MISSING, ()))
    told = revision.added + revision.changed + revision.missing
    revision.unchanged = max(openings - told, 0) if revision.unchanged else 0


def _column(kept: Kept, name: str) -> Any:
    names = [column.attname for column in kept.model._meta.concrete_fields]  # noqa: SLF001
    return kept.columns[names.index(name)]


def _renamed(change: RecordedChange, part: Part) -> RecordedChange:
    """An alert is recorded by the number of its opening, which has another on the copy."""
    words, space, number = change.named.rpartition(" ")
    if change.kind == "alert" and space:
        change.named = f"{words} {part.code}{number}"
    elif change.kind == "schedule":
        change.named = f"{change.named}, building {part.code}"
    return change


def _misread(item: Any, part: Part) -> Any:
    item.payload |= {"opening": part.code + item.payload["opening"], "counter": item.seq}
    return item
