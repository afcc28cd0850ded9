"""Readings that invite a question: patterns in a person's recent checks that no honest tape gives.

An alert asks and accuses nobody: it shows the checks and the figures, and only a person closes it, since nothing that
arrives later can answer it. One pattern is one alert however often it is looked for; while it is open its evidence
grows with the pattern.
"""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from django.db import transaction

from inspections.models import Alert, CheckIn, FrameCheck
from inspections.models.alerts import Severity
from inspections.models.checkins import Action
from inspections.rules.table import READINGS_IMPLAUSIBLE
from inspections.services.alerts import Steps, write_alerts
from inspections.services.profiles import prepared_profile
from inspections.trueness.errors import ReadingError
from inspections.trueness.implausible import LoggedCheck, Pattern, Question, questions
from inspections.trueness.readings import read_readings
from openings.models import Site
from sitetrack.kit.clock import from_ms, to_ms

RECENT = timedelta(days=14)
MOST_CHECKS = 20_000
MOST_SHOWN = 20


@dataclass(frozen=True, slots=True)
class Logged:
    """A check as the patterns see it, whose company logged it, and whether its time is when the frame was read.

    A reading typed in at a desk is told late: how fast such follow each other says nothing.
    """

    check: LoggedCheck
    company: str
    timed: bool


@transaction.atomic
def ask_about_readings(*, site: Site, now: datetime) -> None:
    """Open an alert for each pattern in the last days' checks; running it twice changes nothing the second time."""
    # The site's row is locked first, so that two of these runs don't both open the same alert.
    Site.objects.select_for_update().get(pk=site.pk)
    logged = {each.check.id: each for each in _recent(site, now)}
    known = {alert.cause: alert for alert in Alert.objects.filter(site=site, rule=READINGS_IMPLAUSIBLE)}
    new, changed = [], []
    for question in _questions(logged):
        evidence = _evidence(question, logged)
        cause = _cause(question, logged)
        alert = known.get(cause)
        if alert is None:
            known[cause] = alert = _alert(site, cause, from_ms(logged[question.checks[-1]].check.at), now, evidence)
            new.append(alert)
        elif alert.closed_at is None and alert.evidence != evidence:
            alert.evidence = evidence
            changed.append(alert)
    write_alerts(site.pk, Steps(raised=new, changed=changed), now)


def _recent(site: Site, now: datetime) -> Iterator[Logged]:
    """Checks with readings since the start of a day on the site's clock, so that no run of checks is cut in two."""
    first_day = (now - RECENT).astimezone(site.zone).date()
    since = datetime.combine(first_day, time.min, tzinfo=site.zone)
    taken_back = CheckIn.objects.filter(site=site, action=Action.VOID).values("about")
    checks = (
        FrameCheck.objects.filter(site=site, read_at__gte=since)
        .exclude(check_in__in=taken_back)
        .exclude(check_in__readings={})
        .order_by("-read_at")
    )
    columns = checks.values_list(
        "check_in_id", "opening__number", "check_in__person_id", "company_id", "read_at", "profile_id",
        "check_in__readings", "check_in__device_id",
    )  # fmt: skip
    for id_, number, person, company, read_at, profile, texts, device in columns[:MOST_CHECKS]:
        try:
            lengths = read_readings(texts, units=prepared_profile(profile).units).lengths
        except ReadingError:
            continue  # taken in under other rules; a text nobody can read shows no pattern
        check = LoggedCheck(str(id_), number, str(person), to_ms(read_at), lengths)
        yield Logged(check, str(company), timed=device is not None)


def _questions(logged: Mapping[str, Logged]) -> Iterator[Question]:
    for question in questions(each.check for each in logged.values()):
        if question.pattern is not Pattern.TOO_FAST:
            yield question
    for question in questions(each.check for each in logged.values() if each.timed):
        if question.pattern is Pattern.TOO_FAST:
            yield question


def _cause(question: Question, logged: Mapping[str, Logged]) -> str:
    """What makes it the same question when found again with more checks in it."""
    first = logged[question.checks[0]].check
    if question.pattern is Pattern.TOO_FAST:
        return f"{question.pattern}:{first.id}"
    names = [str(question.evidence["reading"])] if "reading" in question.evidence else sorted(first.lengths)
    read = ";".join(f"{name}={first.lengths[name].nm}" for name in names)
    # Every crew of the site can read an alert's cause, so it tells the person apart without naming one.
    return f"{question.pattern}:{_short(f'{question.person}:{_short(read)}')}"


def _short(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _evidence(question: Question, logged: Mapping[str, Logged]) -> dict[str, Any]:
    """The figures and the checks. Who read them is asked, not told: every crew of the site reads alerts."""
    return {
        "pattern": question.pattern.value,
        "company": logged[question.checks[-1]].company,
        "openings": list(question.openings[:MOST_SHOWN]),
        "openings_in_all": len(question.openings),
        "checks": list(question.checks[:MOST_SHOWN]),
        "figures": dict(question.evidence),
    }


def _alert(site: Site, cause: str, happened_at: datetime, now: datetime, evidence: dict[str, Any]) -> Alert:
    return Alert(
        site=site,
        rule=READINGS_IMPLAUSIBLE,
        cause=cause,
        severity=Severity.NOTICE,
        opened_at=now,
        happened_at=happened_at,
        evidence=evidence,
    )
