"""Whether one report may be stored: what it says must be possible and its sender's to say.

Deciding may refuse; once a check-in is stored nothing refuses it any more, and folding says what it came to.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from inspections.models.checkins import Action
from inspections.services.reports import Report, Sender
from openings.sequence.stage import Kind, Stage
from sitetrack.access.roles import Role
from sitetrack.kit.problems import BadInput, FieldError, Forbidden

UNDOING = {Action.VOID, Action.RELEASE}
WORKING = {Action.START, Action.FINISH, Action.FAIL}
READINGS = {Action.FINISH, Action.FAIL}


@dataclass(frozen=True, slots=True)
class Subject:
    """What is known of a check-in that another names in `about`."""

    opening_id: UUID
    stage: str
    action: str
    company_id: UUID
    person_id: UUID


def decide(
    report: Report, *, stage: Stage, sender: Sender, opening_id: UUID, known: Mapping[UUID, Subject], two_persons: bool
) -> None:
    """Raise `BadInput` or `Forbidden` where the report can't be stored; `two_persons`: signer is not reader."""
    if report.action in WORKING:
        _decide_work(report, stage, sender)
    subject = known.get(report.about) if report.about else None
    if subject and subject.opening_id != opening_id:
        raise _bad("about", str(report.about), "the id of a check-in of the same opening")
    if report.action == Action.SIGN:
        _decide_sign(stage, sender, subject, waives=report.waives, two_persons=two_persons)
    if report.waives:
        _decide_waiver(report, sender)
    if report.action in UNDOING and subject:
        _decide_undo(report, sender, subject)


def _decide_work(report: Report, stage: Stage, sender: Sender) -> None:
    if report.action == Action.FAIL and stage.kind is not Kind.CHECK:
        raise _bad("action", "fail", "start or finish: only a check can fail. To stop work, send a hold and why")
    role = sender.membership.role
    if role == Role.SUPERVISOR or (role == Role.INSPECTOR and stage.kind is Kind.CHECK):
        return
    if stage.trade not in sender.membership.trades:
        raise Forbidden(
            f"{stage.title.en} is work of the trade {stage.trade.value.replace('_', ' ')}, which "
            f"{sender.membership.company.name} is not down for on this site. The supervisor can change that."
        )


def _decide_sign(stage: Stage, sender: Sender, subject: Subject | None, *, waives: bool, two_persons: bool) -> None:
    if not stage.sign_roles:
        raise _bad("stage", stage.code, "a stage that asks for a signature")
    if sender.membership.role not in stage.sign_roles:
        allowed = " or ".join(role.value for role in stage.sign_roles)
        raise Forbidden(f"{stage.title.en} is signed by a {allowed}; you are here as {sender.membership.role}.")
    if subject is None:
        return
    signable = READINGS if waives else {Action.FINISH}
    if subject.stage != stage.code or subject.action not in signable:
        raise _bad("about", f"a {subject.action} of {subject.stage}", f"the id of a finished reading of {stage.code}")
    if two_persons and subject.person_id == sender.person.pk:
        raise Forbidden("Reader and signer must be two persons on this site. Ask another who may sign.")


def _decide_waiver(report: Report, sender: Sender) -> None:
    if sender.membership.role != Role.SUPERVISOR:
        raise Forbidden("Only the supervisor may let a failed check stand.")
    if not report.note.strip():
        raise BadInput(
            "A waiver gives its reason, which stays in the record.",
            errors=[FieldError("note", "empty", expected="why the check may stand", example="Glazier trims the stop.")],
        )


def _decide_undo(report: Report, sender: Sender, subject: Subject) -> None:
    if report.action == Action.VOID and subject.action == Action.VOID:
        raise _bad("about", "a check-in that takes another back", "any other check-in. Report the work anew instead")
    if report.action == Action.RELEASE and subject.action != Action.HOLD:
        raise _bad("about", f"a {subject.action}", "the id of a hold")
    if sender.membership.role == Role.SUPERVISOR:
        return
    if subject.action == Action.SIGN and subject.person_id != sender.person.pk:
        raise Forbidden("A signature is taken back by who gave it, or by the supervisor.")
    if subject.company_id != sender.membership.company_id:
        raise Forbidden("This was reported by another company. Its own people or the supervisor can undo it.")


def _bad(field: str, read: str, expected: str) -> BadInput:
    return BadInput(
        f"{field}: {read} can't be used here; expected {expected}.",
        errors=[FieldError(field, "not possible here", read=read, expected=expected)],
    )
