"""Whether one report may be stored: what it says must be possible and its sender's to say.

Deciding may refuse; once a check-in is stored nothing refuses it any more, and folding says what it came to.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext as _

from inspections.models.checkins import Action
from inspections.services.reports import Report, Sender
from openings.sequence.stage import Kind, Stage
from sitetrack.access.roles import Role, Trade
from sitetrack.kit.language import readers_language
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
        raise _bad("about", str(report.about), _("the id of a check-in of the same opening"))
    if report.action == Action.SIGN:
        _decide_sign(stage, sender, subject, waives=report.waives, two_persons=two_persons)
    if report.waives:
        _decide_waiver(report, sender)
    if report.action in UNDOING and subject:
        _decide_undo(report, sender, subject)


def _decide_work(report: Report, stage: Stage, sender: Sender) -> None:
    if report.action == Action.FAIL and stage.kind is not Kind.CHECK:
        raise BadInput(
            _("Only a check can fail. To stop work, put it on hold and say why."),
            errors=[FieldError("action", "not possible here", read="fail", expected="start, finish or hold")],
        )
    role = sender.membership.role
    if role == Role.SUPERVISOR or (role == Role.INSPECTOR and stage.kind is Kind.CHECK):
        return
    if stage.trade not in sender.membership.trades:
        raise Forbidden(
            _(
                "“%(stage)s” is work of the trade %(trade)s, which %(company)s is not down for on this site. "
                "The supervisor can change that."
            )
            % {
                "stage": _title(stage),
                "trade": Trade(stage.trade.value).label,
                "company": sender.membership.company.name,
            }
        )


def _decide_sign(stage: Stage, sender: Sender, subject: Subject | None, *, waives: bool, two_persons: bool) -> None:
    if not stage.sign_roles:
        raise _bad("stage", stage.code, _("a stage that asks for a signature"))
    if sender.membership.role not in stage.sign_roles:
        raise Forbidden(
            _("Who signs “%(stage)s”: %(allowed)s. You are here as %(role)s.")
            % {
                "stage": _title(stage),
                "allowed": ", ".join(str(Role(role.value).label) for role in stage.sign_roles),
                "role": Role(sender.membership.role).label,
            }
        )
    if subject is None:
        return
    signable = READINGS if waives else {Action.FINISH}
    if subject.stage != stage.code or subject.action not in signable:
        expected = _("the id of a finished reading of %(stage)s") % {"stage": stage.code}
        raise _bad("about", f"{subject.action}, {subject.stage}", expected)
    if two_persons and subject.person_id == sender.person.pk:
        raise Forbidden(_("Reader and signer must be two persons on this site. Ask another who may sign."))


def _decide_waiver(report: Report, sender: Sender) -> None:
    if sender.membership.role != Role.SUPERVISOR:
        raise Forbidden(_("Only the supervisor may let a failed check stand."))
    if not report.note.strip():
        raise BadInput(
            _("A waiver gives its reason, which stays in the record."),
            errors=[FieldError("note", "empty", expected="why the check may stand", example="Glazier trims the stop.")],
        )


def _decide_undo(report: Report, sender: Sender, subject: Subject) -> None:
    if report.action == Action.VOID and subject.action == Action.VOID:
        raise _bad("about", _("a taking back"), _("any other check-in. Report the work anew instead"))
    if report.action == Action.RELEASE and subject.action != Action.HOLD:
        raise _bad("about", subject.action, _("the id of a hold"))
    if sender.membership.role == Role.SUPERVISOR:
        return
    if subject.action == Action.SIGN and subject.person_id != sender.person.pk:
        raise Forbidden(_("A signature is taken back by who gave it, or by the supervisor."))
    if subject.company_id != sender.membership.company_id:
        raise Forbidden(_("This was reported by another company. Its own people or the supervisor can undo it."))


def _title(stage: Stage) -> str:
    """What the stage is called in the language of who reads the refusal."""
    title: str = getattr(stage.title, readers_language(), stage.title.en)
    return title


def _bad(field: str, read: str, expected: str) -> BadInput:
    return BadInput(
        _("%(field)s: %(read)s can't be used here; expected %(expected)s.")
        % {"field": field, "read": read, "expected": expected},
        errors=[FieldError(field, "not possible here", read=read, expected=expected)],
    )
