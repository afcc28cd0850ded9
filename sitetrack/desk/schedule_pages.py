"""Sheet F-5: schedules taken in, and taking one in: hold the file, settle it, look at the preview, take it in."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from math import ceil
from pathlib import Path
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.cache import cache
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST, require_safe

from inspections.selectors.standing_frames import numbers_with_frames
from inspections.tasks import sweep
from openings.intake.limits import FILE_BYTES
from openings.intake.previewing import DETAILS, LeftOutGroup, more_rows, preview
from openings.intake.readings import Source
from openings.intake.settled import Settled, read_settled
from openings.intake.sources import opened_source
from openings.intake.taking_in import SeenFile, choices_for, take_in_file, unit_of
from openings.models import IntakeDraft, ScheduleChange, ScheduleRevision
from openings.selectors.comparison import Outcome
from openings.services.drafts import drop_file, hold_file, let_file_go, settle_file, take_back_letting_go
from sitetrack.access.roles import Role
from sitetrack.desk.schedule_form import SettleForm
from sitetrack.desk.sheets import SCHEDULE, Desk, draw, site_page
from sitetrack.desk.told import Undo, told, undone
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import Problem, TooLarge
from sitetrack.kit.storage import local_copy

REVISIONS_SHOWN = 50
CHANGES_ON_PAGE = 200
SWEPT_AT_ONCE = 2000
PROGRESS_SECONDS = 3600
PAGED = {outcome.value: outcome for outcome in (Outcome.ADDED, Outcome.CHANGED)}


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def schedule(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The revisions taken in so far, the files still held, and a place to hand in the next; POST hands one in."""
    if request.method != "POST":
        return _list(request, desk)
    upload = request.FILES.get("file")
    if upload is None:
        return _list(request, desk, refused=_("Choose a file first."), status=422)
    try:
        if (upload.size or 0) > FILE_BYTES:
            raise TooLarge(
                _("%(name)s is over %(most)d MB. Save the door schedule alone.")
                % {"name": upload.name, "most": FILE_BYTES // 1_000_000}
            )
        draft = hold_file(site=desk.site, upload=upload, name=upload.name or "", who=desk.person, now=desk.now)
    except Problem as problem:
        return _list(request, desk, refused=problem.detail, status=problem.status)
    try:
        with _opened(desk, draft) as (source, _path):
            settle_file(draft=draft, settled=choices_for(desk.site, source).proposed.to_dict())
    except Problem as problem:
        drop_file(draft=draft)
        return _list(request, desk, refused=problem.detail, status=problem.status)
    return redirect("desk:schedule-draft", code=desk.site.code, draft_id=draft.pk)


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def held_file(request: HttpRequest, desk: Desk, draft_id: UUID) -> HttpResponse:
    """A held file: what is proposed, and what taking it in would do; POST settles."""
    draft = _draft(desk, draft_id)
    settled = read_settled(draft.settled)
    with _opened(desk, draft) as (source, _path):
        choices = choices_for(desk.site, source, sheet=settled.sheet)
        if not settled.columns:
            settled = read_settled({**settled.to_dict(), "columns": dict(choices.proposed.columns)})
        form = SettleForm(request.POST if request.method == "POST" else None, choices, settled)
        fault: Problem | None = None
        if request.method == "POST" and form.is_valid():
            try:
                settle_file(draft=draft, settled=form.settled().to_dict())
            except Problem as problem:
                fault = problem
            else:
                return redirect("desk:schedule-draft", code=desk.site.code, draft_id=draft.pk)
        context = {"draft": draft, "form": form, "words": source.words, "most": DETAILS}
        context |= _previewed(desk, draft, source, settled) if request.method != "POST" else {"fault": fault}
        context |= _further_rows(request, desk, source, settled)
        status = 422 if request.method == "POST" else 200
        return draw(request, desk, SCHEDULE, "desk/schedule_draft.html", context, status=status)


@require_POST
@site_page
def take_in(request: HttpRequest, desk: Desk, draft_id: UUID) -> HttpResponse:
    """Take the held file in as it was seen."""
    draft = _draft(desk, draft_id)
    settled = read_settled(draft.settled)
    based_on, label = request.POST.get("based_on", "")[:80], request.POST.get("label", "")[:80]
    try:
        with _opened(desk, draft) as (source, path):
            seen = SeenFile(path, draft.file_name, settled, based_on, label)
            revision = take_in_file(
                site=desk.site, source=source, seen=seen, who=desk.person, now=desk.now, progress=_progress(draft)
            )
    except Problem as problem:
        messages.error(request, problem.detail)
        return redirect("desk:schedule-draft", code=desk.site.code, draft_id=draft.pk)
    drop_file(draft=draft)
    for _sweep in range(ceil((revision.added + revision.changed + revision.missing) / SWEPT_AT_ONCE)):
        enqueue(sweep)
    messages.success(request, _("Taken in."))
    return redirect("desk:schedule-revision", code=desk.site.code, n=revision.n)


@require_POST
@site_page
def let_go(request: HttpRequest, desk: Desk, draft_id: UUID) -> HttpResponse:
    """Let the held file go."""
    draft = _draft(desk, draft_id)
    let_file_go(draft=draft, who=desk.person, now=desk.now)
    undo = Undo(reverse("desk:schedule-hold-again", args=[desk.site.code, draft.pk]))
    told(request, _("The file was let go; nothing was taken in."), undo=undo)
    return redirect("desk:schedule", code=desk.site.code)


@require_POST
@site_page
def hold_again(request: HttpRequest, desk: Desk, draft_id: UUID) -> HttpResponse:
    """Undo: hold the file again."""
    draft = get_object_or_404(_drafts(desk), pk=draft_id)
    return undone(
        request,
        lambda: take_back_letting_go(draft=draft, who=desk.person, now=desk.now),
        said=_("The file is held again; nothing is taken in yet."),
        back=reverse("desk:schedule", args=[desk.site.code]),
    )


@require_GET
@site_page
def progress(request: HttpRequest, desk: Desk, draft_id: UUID) -> HttpResponse:
    """How far a preview or a taking-in is."""
    done, total = cache.get(_progress_key(_draft(desk, draft_id)), (0, 0))
    return JsonResponse({"done": done, "total": total})


@require_safe
@site_page
def revision(request: HttpRequest, desk: Desk, n: int) -> HttpResponse:
    """One revision: its counts, and what it changed."""
    found = get_object_or_404(ScheduleRevision.objects.visible_to(desk.person).filter(site=desk.site), n=n)
    changes = ScheduleChange.objects.filter(revision=found).select_related("opening").order_by("id")
    pages = Paginator(changes, CHANGES_ON_PAGE)
    context = {"revision": found, "page": pages.get_page(request.GET.get("page"))}
    return draw(request, desk, SCHEDULE, "desk/schedule_revision.html", context)


def _list(request: HttpRequest, desk: Desk, *, refused: str = "", status: int = 200) -> HttpResponse:
    revisions = ScheduleRevision.objects.visible_to(desk.person).filter(site=desk.site).select_related("taken_in_by")
    context = {
        "revisions": revisions[:REVISIONS_SHOWN],
        "drafts": _drafts(desk).filter(let_go_at=None),
        "may_take_in": desk.membership.role == Role.SUPERVISOR,
        "refused": refused,
        "most_megabytes": FILE_BYTES // 1_000_000,
    }
    return draw(request, desk, SCHEDULE, "desk/schedule.html", context, status=status)


def _draft(desk: Desk, draft_id: UUID) -> IntakeDraft:
    draft: IntakeDraft = get_object_or_404(_drafts(desk), pk=draft_id, let_go_at=None)
    return draft


def _drafts(desk: Desk) -> QuerySet[IntakeDraft]:
    """What this person holds, and what they let go a moment ago."""
    drafts: QuerySet[IntakeDraft] = IntakeDraft.objects.visible_to(desk.person).filter(
        site=desk.site, person=desk.person
    )
    return drafts


@contextmanager
def _opened(desk: Desk, draft: IntakeDraft) -> Iterator[tuple[Source, Path]]:
    with (
        local_copy(str(draft.file.name)) as path,
        opened_source(path, draft.file_name, unit=unit_of(desk.site)) as source,
    ):
        yield source, path


def _previewed(desk: Desk, draft: IntakeDraft, source: Source, settled: Settled) -> dict[str, Any]:
    """The preview for the page; or the fault, where what is settled does not fit the file."""
    try:
        made = preview(desk.site, source, settled, progress=_progress(draft))
    except Problem as fault:
        return {"fault": fault}
    groups = sorted(made.not_ours.values(), key=lambda group: group.group)
    # What was ticked before is no longer left out, but a person may change their mind.
    groups += [LeftOutGroup(name, "") for name in sorted(settled.ours - {group.group for group in groups})]
    return {
        "preview": made,
        "unknown": made.unknown.most_common(),
        "groups": [(group, group.group in settled.ours) for group in groups],
        "frames_stand": numbers_with_frames(desk.site, [row.number for row in (*made.changed, *made.missing)]),
    }


def _further_rows(request: HttpRequest, desk: Desk, source: Source, settled: Settled) -> dict[str, Any]:
    """The rows asked for beyond those the preview keeps."""
    outcome, start = PAGED.get(request.GET.get("rows", "")), request.GET.get("start", "")
    if outcome is None or not start.isdecimal() or len(start) > 6:
        return {}
    rows = more_rows(desk.site, source, settled, outcome, start=int(start), count=DETAILS)
    return {
        "next_rows": rows,
        "further_kind": outcome.value,
        "further_from": int(start),
        "further_next": int(start) + DETAILS,
    }


def _progress_key(draft: IntakeDraft) -> str:
    return f"schedule-progress-{draft.pk}"


def _progress(draft: IntakeDraft) -> Callable[[int, int], None]:
    # In the cache and not on the draft: what a transaction writes is seen by nobody before it ends.
    return lambda done, total: cache.set(_progress_key(draft), (done, total), PROGRESS_SECONDS)
