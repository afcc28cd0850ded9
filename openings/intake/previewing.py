"""What taking a schedule in would do, shown before anything is written.

The file is read twice: once to know its numbers and keys, refusals and notes, and once to compare it with the openings
as they stand. Counts are complete; details are kept up to a bound, and the rest can be paged through.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from django.utils.translation import gettext as _

from openings.intake.readings import NotOurs, PassedOver, Source
from openings.intake.refusals import RowRefused
from openings.intake.settled import Settled
from openings.intake.tabular import default_facts
from openings.models import Site
from openings.selectors.comparison import Compared, Comparison, Listing, Outcome, Terms, state_of_schedule
from openings.selectors.facts import ListedOpening, shown
from sitetrack.kit.lengths import UnitSystem

Progress = Callable[[int, int], None]
DETAILS = 500
PASSED_OVER_SHOWN = 50
NUMBERS_SHOWN = 20
REPORT_EVERY = 200


@dataclass(frozen=True, slots=True)
class FactChange:
    """One fact by its name here, before and after as a person reads them; empty where it is unknown."""

    fact: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class ShownRow:
    """One row of the preview: where it stands, the opening's number, and what changes."""

    where: str
    number: str
    changes: tuple[FactChange, ...] = ()
    note: str = ""


@dataclass(slots=True)
class LeftOutGroup:
    """Doors proposed as not ours, or settled so, by what they are settled by."""

    group: str
    reason: str
    count: int = 0
    numbers: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Preview:
    """Counts of everything, details of the first rows of each kind, and the state it was made from."""

    based_on: str
    file_kind: str
    rows: int = 0
    counts: Counter[str] = field(default_factory=Counter)
    unknown: Counter[str] = field(default_factory=Counter)
    added: list[ShownRow] = field(default_factory=list)
    changed: list[ShownRow] = field(default_factory=list)
    missing: list[ShownRow] = field(default_factory=list)
    refused: list[RowRefused] = field(default_factory=list)
    not_ours: dict[tuple[str, str], LeftOutGroup] = field(default_factory=dict)
    passed_over: list[PassedOver] = field(default_factory=list)
    warnings: list[ShownRow] = field(default_factory=list)

    @property
    def nothing_changes(self) -> bool:
        """Whether taking the file in would change nothing."""
        return not (self.counts["added"] or self.counts["changed"] or self.counts["missing"])

    @property
    def leaves_most_out(self) -> bool:
        """Whether the file lacks more of the openings known before than it lists, as a part of a schedule does."""
        return self.counts["missing"] > self.counts["changed"] + self.counts["unchanged"]


class Reading:
    """One file as settled, read once: its listing, and what is left out of it. The parts a preview is made of."""

    def __init__(self, source: Source, settled: Settled, progress: Progress | None = None) -> None:
        self._source, self._settled = source, settled
        self.terms = Terms(default_facts(settled), settled.blank_clears, settled.partial, settled.file_positions)
        self.listing = Listing()
        self.rows = self.refused_count = 0
        self.refused: list[RowRefused] = []
        self.not_ours: dict[tuple[str, str], LeftOutGroup] = {}
        self.passed_over: list[PassedOver] = []
        self.counts: Counter[str] = Counter()
        for row in self._source.readings(settled):
            self.rows += 1
            self._sort(row)
            if progress and self.rows % REPORT_EVERY == 0:
                progress(min(self.rows, source.total), 2 * source.total)

    def openings(self) -> Iterator[ListedOpening]:
        """Read the file again and yield the openings that can be taken, each number once."""
        for row in self._source.readings(self._settled):
            if isinstance(row, ListedOpening) and self.listing.enter(row) == row.where:
                yield row

    def _sort(self, row: object) -> None:
        if isinstance(row, ListedOpening):
            earlier = self.listing.enter(row)
            if earlier == row.where:
                return
            row = RowRefused(
                row.where, row.row, self._settled.columns.get("number", ""), "number", row.number,
                _("every number once"),
                _("It stands in %(earlier)s already: give one of the two another number.") % {"earlier": earlier},
                row.number,
            )  # fmt: skip
        if isinstance(row, RowRefused):
            self.refused_count += 1
            _keep(self.refused, row)
        elif isinstance(row, NotOurs):
            group = self.not_ours.setdefault((row.group, row.reason), LeftOutGroup(row.group, row.reason))
            group.count += 1
            if len(group.numbers) < NUMBERS_SHOWN:
                group.numbers.append(row.opening.number)
            self.counts["not_ours"] += 1
        elif isinstance(row, PassedOver):
            self.counts["passed_over"] += 1
            if len(self.passed_over) < PASSED_OVER_SHOWN:
                self.passed_over.append(row)


def preview(site: Site, source: Source, settled: Settled, *, progress: Progress | None = None) -> Preview:
    """Compare the file with the site's openings; raises BadInput where what was settled does not fit the file."""
    state = state_of_schedule(site.pk)
    reading = Reading(source, settled, progress)
    made = Preview(
        state, source.words, reading.rows, reading.counts.copy(), refused=reading.refused, not_ours=reading.not_ours,
        passed_over=reading.passed_over,
    )  # fmt: skip
    made.counts["refused"] = reading.refused_count
    comparison = Comparison(site.pk, reading.listing, reading.terms)
    units = site.unit_system
    done, total = 0, len(reading.listing.rows)
    for chunk in comparison.chunks(reading.openings()):
        for one in chunk:
            _enter(made, one, units)
        done += len(chunk)
        if progress:
            progress(source.total + source.total * done // max(total, 1), 2 * source.total)
    for missing in comparison.no_longer_listed():
        made.counts["missing"] += len(missing)
        for opening in missing:
            _keep(made.missing, ShownRow("", opening.number, note=str(opening.floor)))
    if progress:
        progress(2 * source.total, 2 * source.total)
    return made


def more_rows(
    site: Site, source: Source, settled: Settled, outcome: Outcome, *, start: int, count: int
) -> Sequence[ShownRow]:
    """Rows of one outcome beyond those a preview keeps."""
    reading = Reading(source, settled)
    chunks = Comparison(site.pk, reading.listing, reading.terms).chunks(reading.openings())
    wanted = (one for chunk in chunks for one in chunk if one.outcome is outcome)
    return [shown_row(one, site.unit_system) for one in islice(wanted, start, start + min(count, DETAILS))]


def shown_row(one: Compared, units: UnitSystem) -> ShownRow:
    """A compared row as a person reads it."""
    changes = tuple(
        FactChange(
            difference.field,
            shown(difference.field, difference.before, units),
            shown(difference.field, difference.after, units),
        )
        for difference in one.differences
    )
    return ShownRow(one.listed.where, one.listed.number, changes, "listed again" if one.is_back else "")


def as_data(made: Preview) -> Mapping[str, Any]:
    """The preview as plain data, for a program."""
    return {
        "file_kind": made.file_kind,
        "rows": made.rows,
        "counts": {kind: made.counts[kind] for kind in COUNTED},
        "unknown": dict(made.unknown.most_common()),
        "added": [_row_data(row) for row in made.added],
        "changed": [_row_data(row) for row in made.changed],
        "missing": [row.number for row in made.missing],
        "refused": [
            {"where": row.where, "row": row.row, "column": row.column, "field": row.field, "number": row.number,
             "read": row.read, "expected": row.expected, "mend": row.mend}
            for row in made.refused
        ],
        "not_ours": [
            {"group": group.group, "reason": group.reason, "count": group.count, "numbers": group.numbers}
            for group in made.not_ours.values()
        ],
        "passed_over": [{"where": row.where, "text": row.text} for row in made.passed_over],
        "warnings": [{"where": row.where, "number": row.number, "warning": row.note} for row in made.warnings],
    }  # fmt: skip


COUNTED = ("added", "changed", "unchanged", "missing", "refused", "not_ours", "passed_over", "warnings")


def _row_data(row: ShownRow) -> dict[str, Any]:
    changes = [{"fact": change.fact, "before": change.before, "after": change.after} for change in row.changes]
    return {"where": row.where, "number": row.number, "changes": changes} | ({"note": row.note} if row.note else {})


def _enter(made: Preview, one: Compared, units: UnitSystem) -> None:
    made.counts[one.outcome.value] += 1
    if one.keeps_position:
        made.counts["positions_kept"] += 1
    stays = (_("Somebody set it down elsewhere on the plan: it stays there."),) if one.keeps_position else ()
    for warning in (*one.listed.warnings, *stays):
        made.counts["warnings"] += 1
        _keep(made.warnings, ShownRow(one.listed.where, one.listed.number, note=warning))
    if one.outcome is Outcome.REFUSED:
        listed = one.listed
        _keep(
            made.refused,
            RowRefused(
                listed.where, listed.row, "", "number", listed.number, one.why,
                _("Give one of the two another number, by hand or in the file."), listed.number,
            ),
        )  # fmt: skip
        return
    made.unknown.update(one.unknown)
    kept = {Outcome.ADDED: made.added, Outcome.CHANGED: made.changed}.get(one.outcome)
    if kept is not None and len(kept) < DETAILS:
        kept.append(shown_row(one, units))


def _keep(rows: list[Any], row: object) -> None:
    if len(rows) < DETAILS:
        rows.append(row)
