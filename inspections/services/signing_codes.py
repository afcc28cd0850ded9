"""Signing on another's phone: the signer's own code, checked before anything is stored.

Checking is slow on purpose, so it is done before the site's row is locked, once for each code of a batch. The row of
the person is locked meanwhile: guesses sent side by side are still counted one after another.

Wrong codes lock the signer on the phone they came from, and on no other: a hand who guesses, or only mistypes, takes
nobody's right to sign elsewhere. Only very many wrong codes from several phones lock the signer everywhere.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from inspections.models import CheckIn, KeptAside, WrongSigningCode
from inspections.services.reports import Report, Sender
from openings.models import Site
from sitetrack.access.models import Device, Membership, Person
from sitetrack.access.services.signing_code import signing_code_fits
from sitetrack.kit.problems import Forbidden, Problem

TRIES = 5
WINDOW = timedelta(minutes=15)
LOCKED_FOR = timedelta(minutes=15)
DAY = timedelta(days=1)
# One phone may not guess all day at its five in a quarter of an hour. So many tries a day at all find a code of six
# digits once in 10,000 days; it takes the day's tries of five phones to lock a signer everywhere.
TRIES_OF_A_PHONE_A_DAY = 20
TRIES_A_DAY = 100


class SigningCodeWrong(Problem):
    code, status, title = "signing-code-wrong", 403, "The signing code is wrong"


class SigningCodeLocked(Problem):
    code, status, title = "signing-code-locked", 403, "Too many wrong signing codes"


class SigningCodeNotSet(Problem):
    code, status, title = "signing-code-not-set", 403, "No signing code yet"


def prove_signers(
    *, site: Site, sender: Sender, reports: Iterable[Report], now: datetime
) -> dict[UUID, Sender | Problem]:
    """For each new report that names another signer than its sender: the signer proved by code, or why not.

    A report that came before is left out: it was proved then, and its code may be gone from the phone by now.
    """
    asked = {r.id: r for r in reports if r.signer and r.signer != sender.person.pk}
    for model in (CheckIn, KeptAside) if asked else ():
        for known in model.objects.filter(pk__in=asked).order_by().values_list("pk", flat=True):
            asked.pop(known, None)
    if not asked:
        return {}
    by_signer: dict[UUID, list[Report]] = {}
    for report in asked.values():
        if report.signer:
            by_signer.setdefault(report.signer, []).append(report)
    standings = Membership.objects.filter(site=site, person__in=by_signer, ended_at=None, person__is_active=True)
    by_person = {standing.person_id: standing for standing in standings.select_related("person", "company")}
    answers: dict[UUID, Sender | Problem] = {}
    for signer in sorted(by_signer):
        answers |= _prove(by_person.get(signer), by_signer[signer], sender.device, now)
    return answers


@transaction.atomic
def _prove(
    standing: Membership | None, reports: Sequence[Report], device: Device | None, now: datetime
) -> dict[UUID, Sender | Problem]:
    if standing is None:
        nobody = Forbidden("signer: nobody of that id has a role on this site. Choose the signer again.")
        return {report.id: nobody for report in reports}
    # A lock that foreign keys don't wait for: others may store this person's check-ins meanwhile.
    person = Person.objects.select_for_update(no_key=True).get(pk=standing.person_id)
    faults: dict[str, Problem | None] = {}
    for report in reports:
        if report.signing_code not in faults:
            faults[report.signing_code] = _try(person, report.signing_code, device, now)
    signer = Sender(person, standing, device)
    return {report.id: faults[report.signing_code] or signer for report in reports}


def _try(person: Person, code: str, device: Device | None, now: datetime) -> Problem | None:
    """Check one code and count it; what is wrong, or None."""
    if not person.signing_code:
        return SigningCodeNotSet(f"{person.name} has set no signing code yet: on the desk, under signing code.")
    if not code:
        return SigningCodeWrong("No signing code came with it. Sign again and give it.")
    if until := _until_when(person, device, now):
        minutes = -(-(until - now) // timedelta(minutes=1))
        return SigningCodeLocked(
            _("Too many wrong codes for %(name)s. Wait %(minutes)d minutes, or sign on %(name)s's own phone.")
            % {"name": person.name, "minutes": minutes}
        )
    if signing_code_fits(person, code):
        WrongSigningCode.objects.filter(person=person, device=device).delete()
        return None
    WrongSigningCode.objects.filter(person=person, at__lte=now - DAY).delete()
    WrongSigningCode.objects.create(person=person, device=device, at=now)
    return SigningCodeWrong(
        _("This is not the signing code of %(name)s. Sign again with the right one.") % {"name": person.name}
    )


def _until_when(person: Person, device: Device | None, now: datetime) -> datetime | None:
    """When this person may sign by code from this phone again; None for now."""
    wrong = WrongSigningCode.objects.filter(person=person, at__gt=now - DAY).order_by("-at")
    tries = list(wrong.values_list("device", "at")[:TRIES_A_DAY])
    everywhere = [at for _device, at in tries]
    here = [at for key, at in tries if key == (device.pk if device else None)]
    ends = [
        _locked_until(here[:TRIES], now),
        here[TRIES_OF_A_PHONE_A_DAY - 1] + DAY if len(here) >= TRIES_OF_A_PHONE_A_DAY else None,
        everywhere[-1] + DAY if len(everywhere) >= TRIES_A_DAY else None,
    ]
    return max((end for end in ends if end is not None), default=None)


def _locked_until(latest: Sequence[datetime], now: datetime) -> datetime | None:
    """When the lock of the latest wrong tries, newest first, ends; None where there is none."""
    if len(latest) < TRIES or latest[0] - latest[-1] > WINDOW or now >= latest[0] + LOCKED_FOR:
        return None
    return latest[0] + LOCKED_FOR
