"""What another profile would make of the checks a site already has: a report, and nothing else.

Stored verdicts are never touched: each was given by the tolerances of its day. Every check is read again twice, by its
own profile and by the other, against the opening as it is scheduled now, so that what the profile changes is told
apart from what a revision of the schedule changed. Checks are streamed; memory does not grow with their number.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from django.db.models import F

from inspections.models import FrameCheck
from inspections.models.checkins import Action, Outcome
from inspections.selectors.nominal import nominal_opening
from inspections.services.judging import worst_of
from inspections.services.profiles import prepared_profile
from inspections.trueness.errors import ReadingError
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import Readings, read_readings
from inspections.trueness.verdict import Verdict, judge_readings
from openings.models import Site
from openings.selectors.plans import prepared_plan

CHUNK = 200


@dataclass(slots=True)
class ItemChange:
    """How many checks have one measure out under the other profile and in under their own, and the reverse."""

    now_out: int = 0
    now_in: int = 0


@dataclass(slots=True)
class Rejudged:
    """What came of it. `verdicts` counts the changed ones by (before, after), `items` by measure.

    `rescheduled`: checks whose own profile does not give their stored verdict any more, since the opening changed.
    `left_out`: checks that can't be read again, of stages that their plan no longer has.
    """

    looked_at: int = 0
    verdicts: Counter[tuple[str, str]] = field(default_factory=Counter)
    items: dict[str, ItemChange] = field(default_factory=dict)
    rescheduled: int = 0
    left_out: int = 0

    @property
    def changed(self) -> int:
        """How many verdicts would change."""
        return self.verdicts.total()


def rejudge(*, site: Site, profile: ToleranceProfile) -> Rejudged:
    """Read every check of a site again by `profile`; stores nothing, raises nothing."""
    report = Rejudged()
    for check in _checks(site):
        report.looked_at += 1
        required = _required(check)
        own = prepared_profile(check.profile_id)
        if required is None:
            report.left_out += 1
            continue
        try:
            # A bare number was read in the units of its day, whatever the other profile's are.
            readings = read_readings(check.check_in.readings, units=own.units)
        except ReadingError:
            report.left_out += 1
            continue
        _compare(report, check, _both(check, readings, (own, profile), required))
    return report


def _checks(site: Site) -> Iterator[FrameCheck]:
    checks = FrameCheck.objects.filter(site=site).select_related("check_in", "opening").order_by("pk")
    # Of what was judged then only the checklist counts again; the rest of it is most of a row.
    return checks.defer("judged").annotate(checklist=F("judged__answers")).iterator(chunk_size=CHUNK)


def _required(check: FrameCheck) -> tuple[str, ...] | None:
    """The readings its stage asks for; None where its opening's plan has no such stage any more."""
    stage = prepared_plan(check.opening.plan_id).find(check.stage)
    if stage is None:
        return None
    return stage.required_readings if check.check_in.action == Action.FINISH else ()


def _both(
    check: FrameCheck, readings: Readings, profiles: tuple[ToleranceProfile, ...], required: tuple[str, ...]
) -> list[tuple[str, Verdict]]:
    """The outcome and the verdict by each profile; the checklist and the hand's own word count as they did."""
    nominal = nominal_opening(check.opening)
    said = {answer["verdict"] for answer in getattr(check, "checklist", None) or ()}
    if check.check_in.action == Action.FAIL:
        said.add(Outcome.FAIL.value)
    found = []
    for profile in profiles:
        verdict = judge_readings(readings, opening=nominal, profile=profile, required=required)
        nothing_asked = not check.check_in.readings and not required
        found.append((worst_of(said if nothing_asked else said | {verdict.verdict.value}), verdict))
    return found


def _compare(report: Rejudged, check: FrameCheck, judged: list[tuple[str, Verdict]]) -> None:
    (before, old), (after, new) = judged
    if before != check.verdict:
        report.rescheduled += 1
    if before != after:
        report.verdicts[before, after] += 1
    was = {item.name: item.verdict for item in old.items}
    for item in new.items:
        if was.get(item.name, item.verdict) is not item.verdict:
            change = report.items.setdefault(item.name, ItemChange())
            if item.verdict.value == Outcome.FAIL:
                change.now_out += 1
            else:
                change.now_in += 1


def as_lines(report: Rejudged) -> Iterator[str]:
    """The report in words, one line each."""
    yield f"{report.looked_at} checks read again; {report.changed} verdicts would change."
    for (before, after), count in sorted(report.verdicts.items()):
        yield f"  {before} -> {after}: {count}"
    for name, change in sorted(report.items.items()):
        yield f"  {name}: {change.now_out} more would be out, {change.now_in} more would be in"
    if report.rescheduled:
        yield (
            f"{report.rescheduled} stand differently even by their own tolerances: the schedule of their openings "
            "changed after they were read."
        )
    if report.left_out:
        yield f"{report.left_out} could not be read again: their plan no longer has that stage, or the text no meaning."
    yield "Nothing was stored: every verdict stays as it was given."
