"""The weekly status on paper: what an owner reads in five minutes, and what each figure rests on."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from pathlib import Path

from django.utils import translation
from django.utils.translation import gettext as _
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, PageBreak, Spacer

from inspections.models.progress import StageState
from inspections.selectors.stages import states_by_mark
from sitetrack.reports.cells import cut
from sitetrack.reports.layout import STAGE_COLUMN
from sitetrack.reports.paper.blocks import SMALL, heading, ruled, subheading, with_room_for_words, words
from sitetrack.reports.paper.curve import Point, ProgressCurve
from sitetrack.reports.paper.floor_plan import FloorPlan, floor_plan
from sitetrack.reports.paper.frame_glyph import CELL_WIDTH, Glyph, GlyphRow, glyph_of
from sitetrack.reports.paper.sheet import TitleBlock, room, write_pdf
from sitetrack.reports.showing import Shower
from sitetrack.reports.snapshot import Snapshot
from sitetrack.reports.tables import Column, Kind, Plain, Row, Table

# Together they keep the whole within eight sheets, however big the job.
MOST_SHEETS_OF_FLOORS = 2
MOST_LINES = 25
MOST_LINES_OF_REST = 10  # of the shorter lists of exceptions
STAGES_SHOWN = ("stage", "trade", "needed", "ready", "underway", "done", "done_last", "done_change")
MOST_SUMS = 18
LONGEST_IN_CELL = 90  # characters; the workbook has the whole note
ROOM_FOR_A_TABLE = 90
ROOM_FOR_A_NAME = 22
HEAVIEST_FIRST = ("critical", "warning", "notice")
SHARES = {Kind.DATE: 15, Kind.COUNT: 12, Kind.MOMENT: 18, Kind.FLAG: 10}  # of the width of a table
OF_A_COMPANY = (
    "company", "check_ins", "late", "checks_read", "checks_passed", "checks_failed", "holds_open", "earned",
    "earned_change",
)  # fmt: skip


def write_weekly_pdf(snapshot: Snapshot, path: Path, *, size: str, digest: str) -> int:
    """Print a status on paper of this size; returns the number of sheets. `digest` is that of its JSON."""
    header = snapshot.header
    with translation.override(str(header["language"])):
        block = TitleBlock(
            job=f"{header['name']} ({header['site']})",
            title=f"{header['title']} {header['week']}",
            covers=_covers(snapshot),
            mark=_("SHA-256 of the figures: %(digest)s") % {"digest": digest},
            page_words=_("Sheet %(n)d of %(of)d"),
            language=str(header["language"]),
        )
        printer = _Printer(snapshot, size)
        return write_pdf(path, size, block, list(printer.story()))


def _covers(snapshot: Snapshot) -> str:
    header = snapshot.header
    shower = Shower(snapshot.words, str(header["time_zone"]))
    moment = Column("", "", Kind.MOMENT)
    first, last = (shower.show(moment, header[key]) for key in ("previous_cut_off", "cut_off"))
    told = f"{first:%Y-%m-%d %H:%M} – {last:%Y-%m-%d %H:%M} {header['time_zone']}"
    return f"{header['company']} · {told}" if header["company"] else told


class _Printer:
    """Turns one snapshot into parts of sheets."""

    def __init__(self, snapshot: Snapshot, size: str) -> None:
        self.snapshot = snapshot
        self.width, self.height = room(size)
        self.tables: Mapping[str, Table] = {table.name: table for table in snapshot.tables}
        self.shower = Shower(snapshot.words, str(snapshot.header["time_zone"]))

    def story(self) -> Iterator[Flowable]:
        """All of it in order; a company's edition has no figures of the whole site."""
        if "summary" in self.tables:
            yield from self.front()
            yield PageBreak()
            yield from self.sums()
            yield PageBreak()
            yield from self.floors()
            yield CondPageBreak(self.height * 0.75)
        else:
            yield heading(self.snapshot.header["company"])
            yield from self.table("companies", OF_A_COMPANY, MOST_LINES)
        yield from self.exceptions()
        yield CondPageBreak(self.height / 2)
        yield from self.ahead()
        yield from self.basis()

    def front(self) -> Iterator[Flowable]:
        """The figures and the curve."""
        header = self.snapshot.header
        yield heading(f"{header['name']}: {header['title']} {header['week']}")
        if header["standing"]:
            yield words(header["standing"])
        yield from self.curve()
        yield subheading(self.tables["summary"].title)
        rows = list(self.snapshot.rows(self.tables["summary"]))
        columns = ["figure", "this_week", "last_week", "change"]
        restated = [row for row in rows if row["restated"]]
        if restated:
            columns += ["issued_last", "restated"]
        yield from self.ruled("summary", columns, rows)
        if restated:
            yield words(
                _(
                    "A restated figure of last week differs from the one issued then, because the schedule or a plan "
                    "was corrected since; both are shown."
                ),
                SMALL,
            )

    def curve(self) -> Iterator[Flowable]:
        """Progress over the weeks."""
        points = [
            Point(str(row["week"]), _number(row["percent"]), _number(row["due_percent"]))
            for row in self.snapshot.rows(self.tables["curve"])
        ]
        yield subheading(self.tables["curve"].title)
        yield ProgressCurve(
            points, self.width, 210, earned=_("earned, per cent of all weight"), due=_("due by the floors' dates")
        )
        yield words(
            _("Earned is what stands today, by the week it was done; due is the weight of the floors with a date."),
            SMALL,
        )
        yield Spacer(1, 6)

    def sums(self) -> Iterator[Flowable]:
        """By floor, by stage, by trade, by company: how many frames are set, checked and boarded stands by stage."""
        shared = ("earned", "total", "percent", "earned_change")
        floors = ("floor", "due_on", "openings", "finished", "on_hold", "failed", "awaiting_signature", "alerts_open")
        yield from self.table("floors", (*floors, *shared), MOST_SUMS)
        yield from self.table("stages", STAGES_SHOWN, MOST_SUMS)
        yield from self.table(
            "trades", ("trade", "needed", "ready", "underway", "done", "failed", "held", *shared), MOST_SUMS
        )
        yield from self.table("companies", OF_A_COMPANY, MOST_SUMS)

    def floors(self) -> Iterator[Flowable]:
        """Every opening as a small frame, on its floor's plan and in rows, as far as the sheets for it go."""
        yield heading(_("Openings by floor"))
        yield words(
            _(
                "Dashed: scheduled. Lines: set. Ticks: anchored. Level on the head: checked, its bubble in the middle "
                "when true, at one end when failed, none when outdated. Hatched: boarded. Swing lines: door hung. "
                "Stroke through the jamb: open alert. Bar across: on hold. Small, in a box: where they stand on the "
                "floor, numbered where something needs a look."
            ),
            SMALL,
        )
        left = self.height * MOST_SHEETS_OF_FLOORS - 120
        omitted = 0
        for name, glyphs in self.glyphs().items():
            drawings = self.drawings(glyphs)
            fitting = next((d for d in drawings if ROOM_FOR_A_NAME + sum(part.height for part in d) < left), None)
            if fitting is None:
                omitted += 1
                continue
            left -= ROOM_FOR_A_NAME + sum(part.height for part in fitting)
            yield KeepTogether([subheading(f"{name} ({len(glyphs)})"), fitting[0]])
            yield from fitting[1:]
        if omitted:
            yield words(
                _("Floors not drawn here for want of room: %(n)d. The workbook has all.") % {"n": omitted}, SMALL
            )

    def drawings(self, glyphs: Sequence[Glyph]) -> Iterator[Sequence[FloorPlan | GlyphRow]]:
        """What may be drawn of a floor, the better first: its plan and then its openings in rows, or the rows alone."""
        across = int(self.width // CELL_WIDTH)
        rows = [GlyphRow(glyphs[start : start + across]) for start in range(0, len(glyphs), across)]
        drawn = floor_plan(glyphs, self.snapshot.spots, self.width)
        if drawn and drawn.height <= self.height / 2:
            yield [drawn, *rows]
        yield rows

    def glyphs(self) -> dict[str, list[Glyph]]:
        """Glyphs by the name of their floor, in walking order."""
        codes = [c.key for c in self.tables["openings"].columns if c.key.startswith(STAGE_COLUMN)]
        found: dict[str, list[Glyph]] = {}
        for row in self.snapshot.rows(self.tables["openings"]):
            states = {code.removeprefix(STAGE_COLUMN): str(row[code] or StageState.NOT_NEEDED) for code in codes}
            marked = states_by_mark(self.snapshot.marks[str(row["plan"])], states)
            glyph = glyph_of(str(row["opening"]), marked, alert=bool(row["alerts_open"]), held=bool(row["on_hold"]))
            found.setdefault(f"{row['building']}, {row['floor']}", []).append(glyph)
        return found

    def exceptions(self) -> Iterator[Flowable]:
        """What went wrong, with its evidence."""
        yield heading(_("Exceptions"))
        failed = (
            {**row, "as_read": row["as_read"] or row["value"]}  # a question has an answer and no reading
            for row in self.snapshot.rows(self.tables["checks"])
            if row["item_verdict"] == "fail"
        )
        columns: tuple[str, ...] = (
            "opening",
            "floor",
            "stage",
            "item",
            "as_read",
            "limit",
            "margin",
            "person",
            "read_at",
            "late",
        )
        yield from self.listed("checks", columns, failed, _("Checks out of tolerance"))
        alerts = (row for row in self.snapshot.rows(self.tables["alerts"]) if row["standing"] == "open")
        ordered = sorted(alerts, key=lambda row: HEAVIEST_FIRST.index(str(row["severity"])))
        columns = ("severity", "opening", "floor", "rule", "happened_at", "company", "acknowledged_by")
        yield from self.listed("alerts", columns, ordered, _("Alerts open"), MOST_LINES_OF_REST)
        holds = (row for row in self.snapshot.rows(self.tables["holds"]) if row["released_at"] is None)
        columns = ("opening", "floor", "stage", "reason", "opened_at", "company", "days")
        yield from self.listed("holds", columns, holds, _("Holds open"), MOST_LINES_OF_REST)
        columns = ("opening", "floor", "stage", "action", "happened_at", "received_at", "company", "person")
        yield from self.listed(
            "late", columns, self.snapshot.rows(self.tables["late"]), _("Received late"), MOST_LINES_OF_REST
        )

    def ahead(self) -> Iterator[Flowable]:
        """What is coming."""
        columns = ("floor", "due_on", "overdue", "stage", "trade", "to_do", "ready")
        yield from self.listed("coming", columns, self.snapshot.rows(self.tables["coming"]), _("Coming in two weeks"))

    def basis(self) -> Iterator[Flowable]:
        """How it was counted."""
        header = self.snapshot.header
        parts = [subheading(_("How this was counted")), words(header["counted"], SMALL), words(header["basis"], SMALL)]
        parts.append(
            words(
                _(
                    "Verdicts follow the site's tolerance profile, whose sources the workbook names limit by limit. "
                    "Local codes, the listing of a rated frame and the licensed people responsible come before them."
                ),
                SMALL,
            )
        )
        parts.append(
            words(_("Words between [ ] were written in letters this print has not; the JSON has them."), SMALL)
        )
        yield KeepTogether(parts)

    def table(self, name: str, keys: Sequence[str], most: int) -> Iterator[Flowable]:
        """Some columns of a table under its own title."""
        yield from self.listed(name, keys, self.snapshot.rows(self.tables[name]), str(self.tables[name].title), most)

    def listed(
        self, name: str, keys: Sequence[str], rows: Iterable[Row], title: str, most: int = MOST_LINES
    ) -> Iterator[Flowable]:
        """Some columns of some rows; what goes beyond the most is counted and said."""
        left = iter(rows)
        shown = list(islice(left, most))
        more = sum(1 for _row in left)
        yield CondPageBreak(ROOM_FOR_A_TABLE)
        yield subheading(title)
        if not shown:
            yield words(_("None."), SMALL)
            return
        yield from self.ruled(name, keys, shown)
        if more:
            yield words(_("%(n)d more in the workbook.") % {"n": more}, SMALL)

    def ruled(self, name: str, keys: Sequence[str], rows: Sequence[Row]) -> Iterator[Flowable]:
        """A ruled table, columns wide as what they hold is long."""
        columns = {column.key: column for column in self.tables[name].columns}
        chosen = [columns[key] for key in keys]
        shares = [SHARES.get(column.kind) or min(max(column.width, 13), 26) for column in chosen]
        widths = [self.width * share / sum(shares) for share in shares]
        numbers = [place for place, column in enumerate(chosen) if column.kind in (Kind.COUNT, Kind.NUMBER)]
        body = [[self.said(column, row[column.key]) for column in chosen] for row in rows]
        titles = [column.title for column in chosen]
        yield ruled(titles, body, with_room_for_words(titles, widths), numbers=numbers)

    def said(self, column: Column, value: Plain) -> str:
        """A value as it is printed."""
        shown = self.shower.show(column, value)
        if shown is None:
            return ""
        return f"{shown:%Y-%m-%d %H:%M}" if column.kind is Kind.MOMENT else cut(str(shown), LONGEST_IN_CELL)


def _number(value: Plain) -> int | None:
    return value if isinstance(value, int) else None
