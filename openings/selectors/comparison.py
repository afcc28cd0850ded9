"""A schedule against the openings as they stand: which are new, which change and in what, which are no longer listed.

The model's own key counts before the number: a door that was renumbered is the same door. Rows are compared a few
hundred at a time, so that neither the file nor the site has to fit in memory; only the numbers and keys of the file do.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum
from itertools import islice
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum
from django.db.models.functions import Upper
from django.utils.translation import gettext as _

from openings.models import Opening
from openings.selectors.facts import (
    BUILDING_NOT_TOLD,
    FLOOR_NOT_TOLD,
    SIMPLE_FACTS,
    WANTED_FACTS,
    Difference,
    ListedOpening,
    is_unknown,
)  # fmt: skip
from openings.selectors.floor_names import same_floor
from openings.selectors.hand_positions import AXES, set_by_hand

CHUNK = 400


class Outcome(Enum):
    """What a schedule means for one of its rows."""

    ADDED = "added"
    CHANGED = "changed"
    UNCHANGED = "unchanged"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Compared:
    """One listed opening beside the stored one; `is_back` when it had dropped out of the schedule before.

    `keeps_position` when the file has it elsewhere than where a person set it, which stands.
    """

    listed: ListedOpening
    outcome: Outcome
    current: Opening | None = None
    differences: tuple[Difference, ...] = ()
    is_back: bool = False
    why: str = ""
    keeps_position: bool = False

    @property
    def unknown(self) -> tuple[str, ...]:
        """The facts a schedule should tell that stay unknown after this row."""
        after = {difference.field: difference.after for difference in self.differences}
        return tuple(fact for fact in WANTED_FACTS if _is_told_nowhere(fact, after, self.current))


@dataclass(slots=True)
class Listing:
    """The numbers and keys a file lists, so that doubles and renumbered doors are known before any row is compared."""

    rows: dict[str, str] = field(default_factory=dict)
    numbers: dict[str, str] = field(default_factory=dict)

    def enter(self, opening: ListedOpening) -> str:
        """Enter an opening; gives the words for where its number or key came first, which may be this very row."""
        number, key = number_key(opening.number), opening.source_key
        earlier = self.rows.get(number) or (self.rows.get(_of_key(key)) if key else None)
        if earlier is not None:
            return earlier
        self.rows[number] = opening.where
        if key:
            self.rows[_of_key(key)] = opening.where
            self.numbers[key] = opening.number
        return opening.where


@dataclass(frozen=True, slots=True)
class Terms:
    """How rows are compared: values for facts nobody told, and whether a blank takes back what was known.

    `file_positions` lets the file's positions stand where a person set others.
    """

    defaults: Mapping[str, Any] = field(default_factory=dict)
    blank_clears: bool = False
    partial: bool = False
    file_positions: bool = False


def number_key(number: str) -> str:
    """Numbers are the same whatever the case, as the constraint in the database has it."""
    return number.upper()


def with_numbers(stored: QuerySet[Opening], numbers: Iterable[str]) -> QuerySet[Opening]:
    """The openings of these numbers, whatever the case.

    Asked for as written too: SQLite folds the letters a to z only, and would miss Ü101 beside its own fold of it.
    """
    numbers = list(numbers)
    folded = [number_key(number) for number in numbers]
    return stored.annotate(folded=Upper("number")).filter(Q(folded__in=folded) | Q(number__in=numbers))


def openings_by_number(site: Any, numbers: Iterable[str]) -> dict[str, Opening]:
    """The site's openings of these numbers, by `number_key`. One query."""
    named = with_numbers(Opening.objects.filter(site=site), numbers)
    return {number_key(opening.number): opening for opening in named.order_by()}


def state_of_schedule(site_id: Any) -> str:
    """A text that changes whenever an opening of the site is added or its facts change; check-ins leave it alone."""
    found = Opening.objects.filter(site=site_id).aggregate(count=Count("pk"), versions=Sum("version"))
    return f"{found['count']}:{found['versions'] or 0}"


@dataclass(frozen=True, slots=True)
class Renumbering:
    """Stored openings the file lists under their key with another number.

    `moving` has their present numbers by id. `blocked` are the keys of those whose new number is not free, since an
    opening the file does not list has it; `staying` are the numbers these therefore keep.
    """

    moving: Mapping[Any, str]
    blocked: frozenset[str]
    staying: frozenset[str]


def renumbering(site_id: Any, listing: Listing) -> Renumbering:
    """Which openings are renumbered by the file, and which can't be."""
    stored = Opening.objects.filter(site=site_id)
    moving: dict[str, tuple[Any, str]] = {}
    for keys in chunked(listing.numbers):
        for pk, number, key in stored.filter(source_key__in=keys).values_list("pk", "number", "source_key"):
            if number_key(number) != number_key(listing.numbers[key]):
                moving[key] = (pk, number)
    wanted = {number_key(listing.numbers[key]): key for key in moving}
    held: set[str] = set()
    for numbers in chunked(listing.numbers[key] for key in moving):
        holders = with_numbers(stored, numbers).values_list("number", "source_key")
        held.update(number_key(number) for number, key in holders if key not in listing.numbers)
    blocked: set[str] = set()
    # One that keeps its number may keep it from another, and so on.
    while held := {number for number in held if number in wanted and wanted[number] not in blocked}:
        stuck = {wanted[number] for number in held}
        blocked |= stuck
        held = {number_key(moving[key][1]) for key in stuck}
    return Renumbering(
        {pk: number for key, (pk, number) in moving.items() if key not in blocked},
        frozenset(blocked),
        frozenset(number_key(moving[key][1]) for key in blocked),
    )


class Comparison:
    """Compares a file's rows with a site's openings as they stood when it was made, and remembers which it met.

    `renumbering` is worked out once; the numbers of the openings in it may be taken off while the rows are written.
    """

    def __init__(self, site_id: Any, listing: Listing, terms: Terms) -> None:
        self._stored = Opening.objects.filter(site=site_id).select_related("floor__building", "wall")
        self._listing, self._terms = listing, terms
        self.renumbering = renumbering(site_id, listing)
        in_schedule = [] if terms.partial else self._stored.filter(in_schedule=True).values_list("pk", flat=True)
        self._unmet: set[Any] = set(in_schedule)

    def chunks(self, listed: Iterable[ListedOpening]) -> Iterator[list[Compared]]:
        """Yield the listed openings compared, a chunk at a time."""
        for chunk in chunked(listed):
            by_key, by_number = self._fetch(chunk)
            compared = self._positions_kept([self._compare(opening, by_key, by_number) for opening in chunk])
            self._unmet.difference_update(one.current.pk for one in compared if one.current)
            yield compared

    def _positions_kept(self, compared: list[Compared]) -> list[Compared]:
        """Leave where they stand the openings that a person set there, unless the file was said to know better."""
        if self._terms.file_positions:
            return compared
        moving = [one.current for one in compared if one.current and _moves(one)]
        kept = set_by_hand(moving) if moving else set()
        return [_keeping(one) if one.current and one.current.pk in kept and _moves(one) else one for one in compared]

    def no_longer_listed(self) -> Iterator[list[Opening]]:
        """Openings in the schedule so far that no row met; none where the file lists only part of the site."""
        for chunk in chunked(sorted(self._unmet)):
            yield list(self._stored.filter(pk__in=chunk).order_by("floor__level", "walk", "number"))

    def _fetch(self, chunk: list[ListedOpening]) -> tuple[dict[str, Opening], dict[str, Opening]]:
        keys = [opening.source_key for opening in chunk if opening.source_key]
        by_key = {opening.source_key: opening for opening in self._stored.filter(source_key__in=keys)} if keys else {}
        for opening in by_key.values():
            opening.number = self.renumbering.moving.get(opening.pk, opening.number)
        same_number = with_numbers(self._stored, [opening.number for opening in chunk])
        return by_key, {number_key(opening.number): opening for opening in same_number}

    def _compare(
        self, listed: ListedOpening, by_key: Mapping[str, Opening], by_number: Mapping[str, Opening]
    ) -> Compared:
        keyed = by_key.get(listed.source_key) if listed.source_key else None
        holder = by_number.get(number_key(listed.number))
        # Where another row lists the holder of this number under its own key, that row speaks for it.
        if holder is not None and holder.source_key != listed.source_key and holder.source_key in self._listing.numbers:
            holder = None
        if listed.source_key in self.renumbering.blocked or (
            keyed is None and number_key(listed.number) in self.renumbering.staying
        ):
            return Compared(
                listed, Outcome.REFUSED, keyed,
                why=_("a number that is free; %(number)s belongs to another opening, which this file does not list")
                % {"number": listed.number},
            )  # fmt: skip
        current = keyed or holder
        differences = tuple(_differences(listed, current, self._terms))
        if current is None:
            return Compared(listed, Outcome.ADDED, None, differences)
        is_back = not current.in_schedule
        outcome = Outcome.CHANGED if differences or is_back else Outcome.UNCHANGED
        return Compared(listed, outcome, current, differences, is_back)


def chunked(rows: Iterable[Any]) -> Iterator[list[Any]]:
    """Yield lists of at most `CHUNK`."""
    iterator = iter(rows)
    while chunk := list(islice(iterator, CHUNK)):
        yield chunk


def _moves(one: Compared) -> bool:
    return one.outcome is not Outcome.REFUSED and any(each.field in AXES for each in one.differences)


def _keeping(one: Compared) -> Compared:
    rest = tuple(each for each in one.differences if each.field not in AXES)
    outcome = Outcome.CHANGED if rest or one.is_back else Outcome.UNCHANGED
    return replace(one, outcome=outcome, differences=rest, keeps_position=True)


def _of_key(key: str) -> str:
    return f"\0{key}"


def _differences(listed: ListedOpening, current: Opening | None, terms: Terms) -> Iterator[Difference]:
    for fact in SIMPLE_FACTS:
        before = getattr(current, fact) if current else None
        after = _after(fact, listed.told, before, terms)
        if after != before and not (is_unknown(after) and is_unknown(before)):
            yield Difference(fact, before, after)
    yield from _floor_difference(listed, current, terms)
    yield from _wall_difference(listed, current, terms)
    stored = current.extra if current else {}
    for name, text in listed.extra.items():
        if stored.get(name, "") != text:
            yield Difference(f"extra:{name}", stored.get(name, ""), text)


def _after(fact: str, told: Mapping[str, Any], before: Any, terms: Terms) -> Any:
    value = told.get(fact)
    if is_unknown(value) and not (fact in told and terms.blank_clears):
        value = before
    return terms.defaults.get(fact) if is_unknown(value) else value


def _floor_difference(listed: ListedOpening, current: Opening | None, terms: Terms) -> Iterator[Difference]:
    known = current is not None and current.floor.code != FLOOR_NOT_TOLD
    floor = listed.floor or ("" if known else terms.defaults.get("floor", ""))
    if current is None:
        yield Difference("floor", "", floor or FLOOR_NOT_TOLD)
        return
    stands = current.floor.building
    building = listed.building.casefold()
    moved = bool(building) and building not in (stands.code.casefold(), stands.name.casefold())
    # A building nobody named so far takes the first name that is told; nothing moves by that.
    moved = moved and stands.code != BUILDING_NOT_TOLD
    if moved or (floor and not same_floor(floor, current.floor.code, current.floor.name)):
        yield Difference("floor", str(current.floor), floor or current.floor.code)


def _wall_difference(listed: ListedOpening, current: Opening | None, terms: Terms) -> Iterator[Difference]:
    before = current.wall.code if current and current.wall else ""
    default = terms.defaults.get("wall")
    after = listed.wall.code if listed.wall else before or (default.code if default else "")
    if after.casefold() != before.casefold():
        yield Difference("wall", before, after)


def _is_told_nowhere(fact: str, after: Mapping[str, Any], current: Opening | None) -> bool:
    if fact in after:
        return is_unknown(after[fact]) or after[fact] == FLOOR_NOT_TOLD
    if current is None:
        return True
    if fact == "floor":
        return current.floor.code == FLOOR_NOT_TOLD
    return current.wall_id is None if fact == "wall" else is_unknown(getattr(current, fact))
