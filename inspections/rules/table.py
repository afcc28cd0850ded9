"""The alert rules. To add one: write a function from `Case` to findings, add its line here, its test, its Spanish."""

from django.utils.translation import gettext_lazy as _

from inspections.rules import frames, order, taken_back
from inspections.rules.findings import Rule

OPENING_RULES: tuple[Rule, ...] = (
    Rule(
        "boarded-before-checked",
        _("Boarded before checked"),
        _("Stop the board crew here. Read what can still be read; what can't be proved, the board comes off."),
        order.boarded_before_checked,
    ),
    Rule(
        "past-hold-point",
        _("Went past a hold point"),
        _("Stop the work and have the check read and signed."),
        order.past_hold_point,
    ),
    Rule(
        "check-failed-work-went-on",
        _("Check failed and work went on"),
        _("Stop the work. Put the frame right and read it again."),
        order.failed_and_went_on,
    ),
    Rule(
        "check-outdated-wall-closed",
        _("Check outdated, wall closed"),
        _("What was proved has changed since. Read the frame again."),
        order.outdated_wall_closed,
        _("The check was read again, or check-ins show that nothing had changed behind the wall."),
    ),
    Rule(
        "boarded-without-rough-in",
        _("Boarded without rough-in"),
        _("Have the electrician say whether the wiring is in before the other side is closed."),
        order.boarded_without_rough_in,
        _("The electrician's check-in arrived later: the wiring was in before the wall was closed."),
    ),
    Rule(
        frames.SCHEDULE_CHANGED,
        _("Schedule changed after the frame was set"),
        _(
            "Compare the frame that stands with the new revision. If it stays, close this and say so: where its size, "
            "hand, wall or rating changed, no board is ready here before."
        ),
        frames.schedule_changed_after_set,
        _("The frame was not set before the change after all: its check-in was taken back."),
    ),
    Rule(
        "went-on-before-signed",
        _("Went on before signed"),
        _("The reading was in time. Sign it, or read again."),
        order.boarded_before_signed,
    ),
    Rule(
        "spreaders-out-before-recheck",
        _("Spreaders out before the recheck"),
        _("Put spreaders back and read the width at head, mid height and floor."),
        frames.spreaders_out_before_recheck,
        _("The check-in was taken back, or the frame had been proved again before."),
    ),
    Rule(
        "floor-unknown-at-set",
        _("Finished floor unknown when set"),
        _("Have the finished floor level confirmed and compare it with the frame's foot."),
        order.floor_unknown_at_set,
    ),
    Rule(
        "readings-contradict",
        _("Readings contradict each other"),
        _("Measure again, the named reading first."),
        frames.readings_contradict,
        _("The reading was taken back."),
    ),
    Rule(
        "order-uncertain",
        _("Order uncertain"),
        _("The two clocks don't tell which came first. Ask the two crews."),
        order.order_uncertain,
    ),
    Rule(
        "failed-reading-taken-back",
        _("Failed reading taken back by who reported it"),
        _("Have the frame read again. It is taken for unread until then."),
        taken_back.failed_reading_taken_back,
        _("The frame was read again and passes."),
    ),
)

# Rules about a whole site or about time passing; found in inspections/services/site_alerts.py, the last in
# implausible_readings.py.
HOLD_TOO_OLD = "hold-too-old"
KEPT_ASIDE_WAITING = "kept-aside-waiting"
READINGS_IMPLAUSIBLE = "readings-implausible"
SITE_RULES = {
    HOLD_TOO_OLD: (_("Hold older than the site's limit"), _("Decide it, or say who must.")),
    KEPT_ASIDE_WAITING: (_("Check-ins kept aside"), _("Say which opening each belongs to.")),
    READINGS_IMPLAUSIBLE: (
        _("Readings that invite a question"),
        _("Ask how these were read, and read one of them again together. There may be a good reason."),
    ),
}

TITLES = {rule.code: rule.title for rule in OPENING_RULES} | {code: words[0] for code, words in SITE_RULES.items()}
EXPLAINED = {rule.code: rule.explained for rule in OPENING_RULES} | {
    HOLD_TOO_OLD: _("The hold was released."),
    KEPT_ASIDE_WAITING: _("The check-ins were placed, or more came."),
}
PLAN_CHANGED = _("The sequence plan changed: by the version now in force this is no longer wrong.")
ADVICE = {rule.code: rule.advice for rule in OPENING_RULES} | {code: words[1] for code, words in SITE_RULES.items()}

# The rules that may raise a critical alert, so that whoever mutes one is held to less.
MAY_BE_CRITICAL = frozenset(
    {
        "boarded-before-checked",
        "past-hold-point",
        "check-failed-work-went-on",
        "check-outdated-wall-closed",
        "boarded-without-rough-in",
        "schedule-changed-after-set",
    }
)
