"""Sequence plans of a site: drawn as a draft, installed as a new version that the openings then follow."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from openings.models import Opening, PlanDraft, SequencePlan, Site
from openings.sequence.plan import Plan
from openings.sequence.plan_document import PlanSheet, read_plan, read_sheet, write_plan
from openings.services.changes import mark_dirty, next_numbers
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, Conflict, FieldError

LONGEST_WHY = 300
CHUNK = 500


@transaction.atomic
def install_plan(
    *, site: Site, document: Mapping[str, Any], who: Person | None = None, now: datetime | None = None, why: str = ""
) -> SequencePlan:
    """Check a plan document and make it the current version of its code; raises `PlanError` naming every fault.

    Openings go on following the version they follow; `follow_version` moves them.
    """
    plan: Plan = read_plan(document)
    earlier = SequencePlan.objects.filter(site=site, code=plan.code)
    latest = earlier.aggregate(latest=Max("version"))["latest"] or 0
    earlier.update(current=False)
    return SequencePlan.objects.create(
        site=site,
        code=plan.code,
        version=latest + 1,
        name=document["name"],
        wall_kind=plan.wall_kind,
        stages=document["stages"],
        basis=document.get("basis") or {},
        made_at=now,
        made_by=who,
        why=why[:LONGEST_WHY],
    )


@transaction.atomic
def follow_version(*, plan: SequencePlan, now: datetime) -> list[Any]:
    """Let every opening that follows another version of this plan follow this one; gives their keys.

    In the transaction that installs the version. They are numbered for the phones and marked as owed.
    """
    site_id = plan.site_id
    moved = list(followers(plan).exclude(plan=plan).order_by("pk").values_list("pk", flat=True))
    for start in range(0, len(moved), CHUNK):
        chunk = moved[start : start + CHUNK]
        numbers = next_numbers(site_id, len(chunk))
        rows = [Opening(pk=pk, seq=number) for pk, number in zip(chunk, numbers, strict=True)]
        Opening.objects.bulk_update(rows, ["seq"])
        Opening.objects.filter(pk__in=chunk).update(plan=plan, changed_at=now)
        mark_dirty(site_id, chunk, now)
    return moved


def followers(plan: SequencePlan) -> Any:
    """The openings that follow any version of this plan."""
    return Opening.objects.filter(site=plan.site_id, plan__code=plan.code)


@transaction.atomic
def begin_draft(*, plan: SequencePlan, who: Person, now: datetime) -> PlanDraft:
    """Draw the next version from this one, the current or an older; raises `Conflict` while there is a draft."""
    must(who, plan.site_id, Right.SET_UP_SITE)
    draft = PlanDraft.objects.select_for_update().filter(site=plan.site_id, code=plan.code).first()
    if draft is not None and draft.dropped_at is None:
        raise Conflict(_("This plan has a draft already. Go on with it, or drop it first."))
    drawn = {
        "base": plan,
        "document": document_of(plan),
        "previous": None,
        "version": 1 if draft is None else draft.version + 1,
        "changed_at": now,
        "changed_by": who,
        "dropped_at": None,
    }
    made, _new = PlanDraft.objects.update_or_create(site_id=plan.site_id, code=plan.code, defaults=drawn)
    return made


@transaction.atomic
def change_draft(*, draft: PlanDraft, sheet: PlanSheet, based_on: int, who: Person, now: datetime) -> PlanDraft:
    """Let the draft say what the sheet says; raises `Conflict` where somebody changed it since it was read."""
    held = _held(draft, based_on, who)
    held.previous, held.document = held.document, write_plan(sheet)
    return _kept(held, who, now)


@transaction.atomic
def take_back_change(*, draft: PlanDraft, based_on: int, who: Person, now: datetime) -> PlanDraft:
    """Take the last change of the draft back; raises `Conflict` where there is none, or another came after it."""
    held = _held(draft, based_on, who)
    if held.previous is None:
        raise Conflict(_("Nothing to undo: it has been undone or changed meanwhile."))
    held.document, held.previous = held.previous, None
    return _kept(held, who, now)


@transaction.atomic
def drop_draft(*, draft: PlanDraft, based_on: int, who: Person, now: datetime) -> PlanDraft:
    """Drop the draft; the plan in force stays as it is."""
    held = _held(draft, based_on, who)
    held.dropped_at = now
    return _kept(held, who, now)


@transaction.atomic
def restore_draft(*, draft: PlanDraft, based_on: int, who: Person, now: datetime) -> PlanDraft:
    """Bring a dropped draft back, as long as no other was begun."""
    must(who, draft.site_id, Right.SET_UP_SITE)
    held = PlanDraft.objects.select_for_update().get(pk=draft.pk)
    if held.dropped_at is None or held.version != based_on:
        raise Conflict(_("Nothing to undo: it has been undone or changed meanwhile."))
    held.dropped_at = None
    return _kept(held, who, now)


@transaction.atomic
def install_draft(
    *, draft: PlanDraft, readings: Any, based_on: int, why: str, who: Person, now: datetime
) -> tuple[SequencePlan, list[Any]]:
    """Make the draft the version in force and let the plan's openings follow it.

    Gives the version and the keys of the openings to work out. `readings` are the names of the readings that can be
    taken. Raises `PlanError` for an unsound draft, `Conflict`, `BadInput` without a reason.
    """
    # The site's lock first, as every writer of numbers takes it.
    site = Site.objects.select_for_update().get(pk=draft.site_id)
    held = _held(draft, based_on, who)
    if not why.strip():
        error = FieldError("why", _("Say in a line what this version changes, for those who read it later."))
        raise BadInput(error.detail, errors=[error])
    before = SequencePlan.objects.filter(site=site, code=held.code, current=True).first()
    read_plan(held.document, readings)
    plan = install_plan(site=site, document=held.document, who=who, now=now, why=why.strip())
    moved = follow_version(plan=plan, now=now)
    held.dropped_at, held.previous = now, None
    _kept(held, who, now)
    record_change(
        site=site,
        who=who,
        now=now,
        kind=Kind.PLAN,
        act=Act.CHANGED,
        about=plan,
        differences={
            "version": (before.version if before else None, plan.version),
            "stages": (_codes(before), _codes(plan)),
            "openings": ("", len(moved)),
            "reason": ("", plan.why),
        },
    )
    return plan, moved


def _codes(plan: SequencePlan | None) -> str:
    return ", ".join(stage["code"] for stage in plan.stages) if plan else ""


def document_of(plan: SequencePlan) -> dict[str, Any]:
    """A stored version as the document it is read from, every field spelt out."""
    stored = {"code": plan.code, "name": plan.name, "wall_kind": plan.wall_kind, "stages": plan.stages}
    return write_plan(read_sheet(stored | ({"basis": plan.basis} if plan.basis else {})))


def _held(draft: PlanDraft, based_on: int, who: Person) -> PlanDraft:
    """The draft as it stands now, held until commit, for someone who may change it and has seen it as it is."""
    must(who, draft.site_id, Right.SET_UP_SITE)
    held = PlanDraft.objects.select_for_update().get(pk=draft.pk)
    if held.dropped_at is not None:
        raise Conflict(_("This draft was installed or dropped meanwhile."))
    if held.version != based_on:
        raise Conflict(
            _("%(who)s changed this draft since you opened it. Look at it as it is, then change what still needs it.")
            % {"who": held.changed_by}
        )
    return held


def _kept(held: PlanDraft, who: Person, now: datetime) -> PlanDraft:
    held.version, held.changed_at, held.changed_by = held.version + 1, now, who
    held.save()
    return held
