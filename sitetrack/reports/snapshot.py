"""The figures of one site for one week, frozen at its cut-off.

A snapshot is rows and the words for them, no file yet: what is true is settled here, once, and each format only writes
it down. The same site, week and moment give the same snapshot.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from django.utils import translation
from django.utils.translation import gettext as _

from openings.models import Floor, Site
from openings.sequence.stage import Mark
from sitetrack.kit.clock import rfc3339
from sitetrack.reports.ahead_rows import coming_rows, curve_rows
from sitetrack.reports.cases import OpeningCase, aside_at, cases_of, opening_ids, site_alerts
from sitetrack.reports.check_rows import NO_PLACE, alert_row, check_rows
from sitetrack.reports.edition import Edition
from sitetrack.reports.layout import SUMMARY, all_tables
from sitetrack.reports.models import WeeklyStatus
from sitetrack.reports.names import Names, names_on
from sitetrack.reports.opening_rows import Telling, change_rows, hold_rows, late_rows, opening_row, place
from sitetrack.reports.spool import Spool
from sitetrack.reports.steps import Steps, finished
from sitetrack.reports.tables import Plain, Table
from sitetrack.reports.total_rows import company_rows, floor_rows, stage_rows, summary_rows, trade_rows
from sitetrack.reports.totals import Totals
from sitetrack.reports.week import Period, ReportClock, Week
from sitetrack.reports.words import BASIS, COUNTED, SO_FAR, spoken

CHUNK = 200  # openings folded at a time: bounds memory, and stays under SQLite's limit of parameters


@dataclass(frozen=True, slots=True)
class Snapshot:
    """`header` says what it is of; `words` gives, by vocabulary, the word for each code; `tables` have plain titles.

    Two are for drawings: `marks` gives, by a plan's name, the codes of its stages that carry each mark; `spots`, by the
    opening's number, where it stands on its floor in metres right and up, where that is known.
    """

    header: Mapping[str, Plain]
    words: Mapping[str, Mapping[str, str]]
    tables: tuple[Table, ...]
    spool: Spool
    marks: Mapping[str, Mapping[Mark, tuple[str, ...]]]
    spots: Mapping[str, tuple[float, float]]

    def rows(self, table: Table) -> Iterator[dict[str, Plain]]:
        """The rows of one of its tables, read as they are asked for."""
        return self.spool.rows(table.name)

    def figures(self) -> dict[str, int]:
        """The site's figures of this week, by name; none in a company's edition."""
        if SUMMARY.name not in {table.name for table in self.tables}:
            return {}
        return {str(row["figure"]): int(row["this_week"] or 0) for row in self.spool.rows("summary")}


def clock_of(site: Site) -> ReportClock:
    """When a site reports."""
    return ReportClock(site.zone, site.report_weekday, site.report_hour)


def take_snapshot(*, site: Site, week: Week, now: datetime, folder: Path) -> Snapshot:
    """Work out a site's week in one go; see `snapshot_steps`."""
    return finished(snapshot_steps(site=site, week=week, now=now, folder=folder))


def snapshot_steps(
    *, site: Site, week: Week, now: datetime, folder: Path, edition: Edition | None = None
) -> Steps[Snapshot]:
    """Work out a site's week from what had been received by its cut-off, or by now where it is still running.

    `folder` holds the rows for as long as the snapshot is used. Tells (openings done, openings in all) after every
    chunk. `edition` leaves only what is of one company. Raises WeekError for a week that has not begun.
    """
    period = clock_of(site).period(week, now)
    with translation.override(site.language):
        names = names_on(site)
        tables = tuple(_plain(table) for table in all_tables(names.stages))
    tables = edition.tables(tables) if edition else tables
    telling = Telling(period, names, site.unit_system)
    totals = Totals(period)
    spots: dict[str, tuple[float, float]] = {}
    ids = opening_ids(site)
    with Spool(folder, tables, edition.wanted if edition else None) as spool:
        for start in range(0, len(ids), CHUNK):
            with translation.override(site.language):  # not while whoever asked goes on
                for case in cases_of(ids[start : start + CHUNK], period):
                    totals.add(case)
                    _keep(case, telling, spool)
                    if case.opening.x is not None and case.opening.y is not None:
                        spots[case.opening.number] = (case.opening.x, case.opening.y)
            yield min(start + CHUNK, len(ids)), len(ids)
        with translation.override(site.language):
            for alert in site_alerts(site, period):
                totals.add_alerts([alert])
                spool.add("alerts", alert_row(alert, NO_PLACE, telling))
            totals.site.now["aside_waiting"] = aside_at(site, period.end)
            totals.site.before["aside_waiting"] = aside_at(site, period.start)
            _keep_totals(site, totals, names, spool, issued_figures(site, week.shifted(-1)))
            header = _header(site, period) | {"company": edition.company if edition else None}
            return Snapshot(header, spoken() | {"stage": dict(names.stages)}, tables, spool, names.marks, spots)


def _keep(case: OpeningCase, telling: Telling, spool: Spool) -> None:
    if case.listed:
        spool.add("openings", opening_row(case, telling))
    spool.add_all("checks", check_rows(case, telling))
    spool.add_all("holds", hold_rows(case, telling))
    spool.add_all("alerts", (alert_row(alert, place(case), telling) for alert in case.alerts))
    spool.add_all("changes", change_rows(case, telling))
    spool.add_all("late", late_rows(case, telling))


def _keep_totals(site: Site, totals: Totals, names: Names, spool: Spool, issued: Mapping[str, int]) -> None:
    spool.add_all("summary", summary_rows(totals, issued))
    floors = list(Floor.objects.filter(site=site).select_related("building"))
    spool.add_all("curve", curve_rows(totals, floors))
    spool.add_all("coming", coming_rows(totals, floors, names))
    spool.add_all("floors", floor_rows(totals, site))
    spool.add_all("trades", trade_rows(totals))
    spool.add_all("stages", stage_rows(totals, names))
    spool.add_all("companies", company_rows(totals, names))


def issued_figures(site: Site, week: Week) -> dict[str, int]:
    """The figures of a week as they were issued; none where it was not. One query."""
    kept = WeeklyStatus.objects.filter(site=site, iso_week=str(week)).values_list("figures", flat=True).first()
    return dict(kept or {})


def _header(site: Site, period: Period) -> dict[str, Plain]:
    return {
        "site": site.code,
        "name": site.name,
        "week": str(period.week),
        "monday": period.week.monday.isoformat(),
        "sunday": period.week.sunday.isoformat(),
        "previous_cut_off": rfc3339(period.start),
        "cut_off": rfc3339(period.end),
        "final": period.final,
        "time_zone": site.time_zone,
        "units": site.units,
        "language": site.language,
        "title": _("Weekly status"),
        "basis": str(BASIS),
        "counted": str(COUNTED),
        "standing": "" if period.final else str(SO_FAR),
    }


def _plain(table: Table) -> Table:
    """The table with its titles in the language now switched on."""
    columns = tuple(replace(column, title=str(column.title)) for column in table.columns)
    return Table(table.name, str(table.title), columns)
