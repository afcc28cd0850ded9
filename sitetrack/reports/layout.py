"""The tables of the weekly status and their columns."""

from collections.abc import Mapping

from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from sitetrack.reports.tables import Table, count, day, flag, moment, number, text, word

STAGE_COLUMN = "stage_"
DIFFERENCE = pgettext_lazy("difference", "Change")  # the noun; the pages' "Change" is what a button does

FLOOR = (text("building", _("Building"), 18), text("floor", _("Floor"), 18))
PLACE = (text("opening", _("Opening"), 12), *FLOOR)

EARNED = (
    count("earned", _("Weight earned"), adds_up=True),
    count("total", _("Weight in all"), adds_up=True),
    count("percent", _("Per cent")),
    count("earned_last", _("Weight earned last week"), adds_up=True),
    count("earned_change", DIFFERENCE, adds_up=True),
)

SUMMARY = Table(
    "summary",
    _("Summary"),
    (
        word("figure", _("Figure"), "figure", 44),
        count("this_week", _("This week")),
        count("last_week", _("Last week")),
        count("change", DIFFERENCE),
        count("issued_last", _("Last week as issued")),
        flag("restated", _("Restated")),
    ),
)
CURVE = Table(
    "curve",
    _("Progress by week"),
    (
        text("week", _("Week"), 10),
        count("earned", _("Weight earned by its end")),
        count("percent", _("Per cent")),
        count("due", _("Weight due by its end")),
        count("due_percent", _("Per cent due")),
    ),
)
COMING = Table(
    "coming",
    _("Coming in two weeks"),
    (
        *FLOOR,
        day("due_on", _("Due on")),
        flag("overdue", _("Overdue")),
        word("stage", _("Stage"), "stage", 40),
        word("trade", _("Trade"), "trade"),
        count("to_do", _("To do")),
        count("ready", _("Can start now")),
    ),
)
FLOORS = Table(
    "floors",
    _("By floor"),
    (
        *FLOOR,
        day("due_on", _("Due on")),
        count("openings", _("Openings"), adds_up=True),
        count("finished", _("Finished"), adds_up=True),
        count("on_hold", _("On hold"), adds_up=True),
        count("failed", _("Check failed or outdated"), adds_up=True),
        count("awaiting_signature", _("Awaiting signature"), adds_up=True),
        count("alerts_open", _("Alerts open")),
        *EARNED,
        count("finished_last", _("Finished last week"), adds_up=True),
        count("finished_change", _("Change in finished"), adds_up=True),
    ),
)
STATE_COUNTS = (
    count("needed", _("Needed")),
    count("waiting", _("Waiting")),
    count("ready", _("Ready")),
    count("underway", _("Underway")),
    count("done", _("Done")),
    count("failed", _("Failed")),
    count("outdated", _("Outdated")),
    count("held", _("On hold")),
    count("done_last", _("Done last week")),
    count("done_change", _("Change in done")),
)
TRADES = Table("trades", _("By trade"), (word("trade", _("Trade"), "trade", 18), *STATE_COUNTS, *EARNED))
STAGES = Table(
    "stages",
    _("Stages"),
    (
        text("plan", _("Sequence plan"), 30),
        word("stage", _("Stage"), "stage", 40),
        word("trade", _("Trade"), "trade"),
        count("weight", _("Weight")),
        *STATE_COUNTS,
        *EARNED,
    ),
)
COMPANIES = Table(
    "companies",
    _("By company"),
    (
        text("company", _("Company"), 28),
        count("check_ins", _("Check-ins"), adds_up=True),
        count("check_ins_last", _("Check-ins last week"), adds_up=True),
        count("check_ins_change", _("Change in check-ins"), adds_up=True),
        count("late", _("Received late"), adds_up=True),
        count("checks_read", _("Checks read"), adds_up=True),
        count("checks_passed", _("Passed"), adds_up=True),
        count("checks_failed", _("Failed"), adds_up=True),
        count("checks_incomplete", _("Incomplete"), adds_up=True),
        count("holds_open", _("Holds open"), adds_up=True),
        count("earned", _("Weight earned"), adds_up=True),
        count("earned_last", _("Weight earned last week"), adds_up=True),
        count("earned_change", DIFFERENCE, adds_up=True),
    ),
)
CHECKS = Table(
    "checks",
    _("Checks of the week"),
    (
        *PLACE,
        word("stage", _("Stage"), "stage", 28),
        moment("read_at", _("Read at")),
        moment("received_at", _("Received at")),
        text("company", _("Company"), 22),
        text("person", _("Read by"), 20),
        text("signed_by", _("Signed by"), 20),
        word("verdict", _("Verdict"), "verdict"),
        word("item", _("Item"), "item", 44),
        text("as_read", _("As read")),
        text("value", _("Value")),
        text("limit", _("Limit")),
        text("margin", _("Margin")),
        number("margin_number", _("Margin, number")),
        word("item_verdict", _("Item's verdict"), "verdict"),
        text("source", _("Source of the limit"), 40),
        word("source_mark", _("How the source is known"), "mark", 30),
        flag("late", _("Late")),
        flag("taken_back", _("Taken back")),
    ),
)
HOLDS = Table(
    "holds",
    _("Holds"),
    (
        *PLACE,
        word("stage", _("Reported at"), "stage", 28),
        text("reason", _("Reason"), 40),
        moment("opened_at", _("Since")),
        text("opened_by", _("By"), 20),
        text("company", _("Company"), 22),
        count("days", _("Days")),
        moment("released_at", _("Released at")),
        text("released_by", _("Released by"), 20),
        text("released_why", _("Released because"), 40),
    ),
)
ALERTS = Table(
    "alerts",
    _("Alerts"),
    (
        *PLACE,
        word("rule", _("Alert"), "rule", 34),
        word("severity", _("Severity"), "severity"),
        word("standing", _("Standing"), "alert", 20),
        moment("happened_at", _("Happened at")),
        moment("opened_at", _("Seen at")),
        text("company", _("Company"), 22),
        text("acknowledged_by", _("Acknowledged by"), 20),
        moment("closed_at", _("Closed at")),
        text("closed_by", _("Closed by"), 20),
        text("closed_why", _("Closed because"), 40),
    ),
)
CHANGES = Table(
    "changes",
    _("Change since last week"),
    (
        *PLACE,
        word("stage", _("Stage"), "stage", 28),
        word("was", _("Was"), "state"),
        word("now", _("Is"), "state"),
        moment("at", _("At")),
        text("company", _("Company"), 22),
        text("person", _("Person"), 20),
        count("earned_change", _("Change of weight"), adds_up=True),
        flag("late", _("Late")),
    ),
)
LATE = Table(
    "late",
    _("Received late"),
    (
        *PLACE,
        word("stage", _("Stage"), "stage", 28),
        word("action", _("What"), "action", 18),
        moment("happened_at", _("Happened at")),
        moment("received_at", _("Received at")),
        text("company", _("Company"), 22),
        text("person", _("Person"), 20),
        text("note", _("Note"), 40),
        flag("taken_back", _("Taken back")),
    ),
)
OPENING = (
    *PLACE,
    text("mark", _("Frame mark"), 10),
    text("plan", _("Sequence plan"), 30),
    text("width", _("Width"), 10),
    text("height", _("Height"), 10),
    count("leaves", _("Leaves")),
    word("construction", _("Construction"), "construction"),
    text("hand", _("Hand"), 8),
    text("wall", _("Wall")),
    text("rating", _("Fire rating as written")),
    flag("electrified", _("Electrified")),
    text("hardware_set", _("Hardware set"), 12),
    word("next_stage", _("Next stage"), "stage", 28),
    word("next_trade", _("Next trade"), "trade"),
    *EARNED,
    flag("finished", _("Finished")),
    flag("on_hold", _("On hold")),
    count("alerts_open", _("Alerts open")),
    count("awaiting_signature", _("Awaiting signature"), adds_up=True),
    count("check_ins", _("Check-ins")),
    count("late", _("Received late")),
    moment("last_at", _("Last heard of")),
)


def openings_table(stages: Mapping[str, str]) -> Table:
    """The table of openings, with a column for each stage (title by code) of the plans in use."""
    ladder = (word(STAGE_COLUMN + code, title, "state") for code, title in stages.items())
    return Table("openings", _("Openings"), (*OPENING, *ladder))


def all_tables(stages: Mapping[str, str]) -> tuple[Table, ...]:
    """Every table, in the order in which a reader meets them."""
    return (
        SUMMARY, CURVE, FLOORS, TRADES, COMPANIES, COMING, STAGES, openings_table(stages), CHECKS, HOLDS, ALERTS,
        CHANGES, LATE,
    )  # fmt: skip
