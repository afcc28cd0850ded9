"""The rows of the tables that add up: summary, floors, trades, stages, companies."""

from collections.abc import Iterator, Mapping

from openings.models import Floor, Site
from sitetrack.access.roles import Trade
from sitetrack.reports.names import Names
from sitetrack.reports.tables import Plain
from sitetrack.reports.totals import Tally, Totals, percent
from sitetrack.reports.words import VOCABULARIES

Row = dict[str, Plain]
STATE_COUNTS = ("needed", "waiting", "ready", "underway", "done", "failed", "outdated", "held")
FLOOR_COUNTS = ("openings", "finished", "on_hold", "failed", "awaiting_signature", "alerts_open")
COMPANY_COUNTS = ("late", "checks_read", "checks_passed", "checks_failed", "checks_incomplete", "holds_open")


def summary_rows(totals: Totals, issued: Mapping[str, int]) -> Iterator[Row]:
    """One row for each figure of the site; `issued` has those of the week before as they were handed out, if they were.

    Where what was handed out has come to differ, as when an opening was corrected since, the figure is restated.
    """
    site = totals.site
    for moment in (site.now, site.before):
        moment["percent"] = percent(moment["earned"], moment["total"])
    for figure in VOCABULARIES["figure"]:
        yield {
            "figure": figure,
            "this_week": site.now[figure],
            "last_week": site.before[figure],
            "change": site.change(figure),
            "issued_last": issued.get(figure),
            "restated": figure in issued and issued[figure] != site.before[figure],
        }


def floor_rows(totals: Totals, site: Site) -> Iterator[Row]:
    """One row for each floor of the site, in walking order. One query."""
    for floor in Floor.objects.filter(site=site).select_related("building"):
        tally = totals.floors[floor.pk]
        yield {
            "building": str(floor.building),
            "floor": str(floor),
            "due_on": floor.due_on.isoformat() if floor.due_on else None,
            **{figure: tally.now[figure] for figure in FLOOR_COUNTS},
            **_earned(tally),
            **_with_change(tally, "finished"),
        }


def trade_rows(totals: Totals) -> Iterator[Row]:
    """One row for each trade that has a stage to do."""
    for trade in Trade.values:
        if trade in totals.trades:
            yield {"trade": trade, **_states(totals.trades[trade])}


def stage_rows(totals: Totals, names: Names) -> Iterator[Row]:
    """One row for each stage of each plan in use, with its weight."""
    order = list(names.plans)
    for plan, place, stage in sorted(totals.stages, key=lambda key: (order.index(key[0]), key[1])):
        tally = totals.stages[plan, place, stage]
        yield {
            "plan": names.plans[plan],
            "stage": stage.code,
            "trade": str(stage.trade),
            "weight": stage.weight,
            **_states(tally),
        }


def company_rows(totals: Totals, names: Names) -> Iterator[Row]:
    """One row for each company that reported anything, by name."""
    for key, tally in sorted(totals.companies.items(), key=lambda item: (names.company(item[0]), item[0])):
        yield {
            "company": names.company(key),
            "check_ins": tally.now["check_ins"],
            **_with_change(tally, "check_ins"),
            **{figure: tally.now[figure] for figure in COMPANY_COUNTS},
            "earned": tally.now["earned"],
            **_with_change(tally, "earned"),
        }


def _earned(tally: Tally) -> Row:
    return {
        "earned": tally.now["earned"],
        "total": tally.now["total"],
        "percent": percent(tally.now["earned"], tally.now["total"]),
        **_with_change(tally, "earned"),
    }


def _states(tally: Tally) -> Row:
    return {**{state: tally.now[state] for state in STATE_COUNTS}, **_with_change(tally, "done"), **_earned(tally)}


def _with_change(tally: Tally, figure: str) -> Row:
    return {f"{figure}_last": tally.before[figure], f"{figure}_change": tally.change(figure)}
