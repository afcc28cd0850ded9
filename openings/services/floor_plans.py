"""The plan of a floor: its picture taken, another page of its file chosen, put to scale, taken away.

What is sent is drawn before the transaction begins: drawing takes seconds, and writers must not wait for it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from hashlib import sha256
from math import hypot
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils.translation import gettext as _

from openings.models import Floor, FloorPlan, Opening, Site
from openings.services.positions import Spot, move_openings
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import differing, facts_of, record_change
from sitetrack.kit.ids import new_id
from sitetrack.kit.lengths import Length, from_mm
from sitetrack.kit.pdf_pages import drawn_page, is_pdf
from sitetrack.kit.pictures import PLAN, Picture, drawn_anew
from sitetrack.kit.problems import BadInput, Conflict, FieldError, TooLarge
from sitetrack.kit.undoing import must_be_ones_own_and_recent

MOST_BYTES = 40_000_000
LEAST_APART = 10  # px between the two points; nearer ones tell a scale to no better than a tenth
# What the whole picture may span. Chosen here: from a closet to a terminal.
LEAST_SPAN, MOST_SPAN = from_mm(2_000), from_mm(3_000_000)


@dataclass(frozen=True, slots=True)
class Upload:
    """What a person sent: a picture or a PDF, its name, and the page wanted."""

    content: bytes
    name: str
    page: int = 1


@dataclass(frozen=True, slots=True)
class Scale:
    """Two points of the picture in px, right and down, and how far apart they are on the floor.

    `opening` stands at the first point, where that is known; `with_openings` moves the openings along with the picture.
    """

    first: tuple[float, float]
    second: tuple[float, float]
    distance: Length
    opening: Opening | None = None
    with_openings: bool = False


def set_plan_picture(*, floor: Floor, upload: Upload, who: Person, now: datetime) -> FloorPlan:
    """Take a picture, or a page of a PDF, for the floor's plan; one of the same size keeps the scale of the last one.

    Raises Forbidden, TooLarge and BadInput.
    """
    must(who, floor.site_id, Right.CHANGE_SCHEDULE)
    if len(upload.content) > MOST_BYTES:
        raise TooLarge(
            _("The file is over %(most)d MB. Save the one sheet alone, or send it as a picture.")
            % {"most": MOST_BYTES // 1_000_000}
        )
    if is_pdf(upload.content):
        drawn, pages = drawn_page(upload.content, upload.page)
        return _keep(floor, drawn_anew(drawn, PLAN, field="file"), upload, pages, (who, now))
    return _keep(floor, drawn_anew(upload.content, PLAN, field="file"), upload, 0, (who, now))


def choose_page(*, plan: FloorPlan, page: int, who: Person, now: datetime) -> FloorPlan:
    """Draw another page of the PDF that was sent. Raises Forbidden, BadInput, and Conflict where none was sent."""
    must(who, plan.site_id, Right.CHANGE_SCHEDULE)
    if not plan.pdf:
        raise Conflict(_("The plan came as a picture; there are no other pages. Send another file."))
    with plan.pdf.open() as file:
        content = file.read()
    return set_plan_picture(floor=plan.floor, upload=Upload(content, plan.file_name, page), who=who, now=now)


@transaction.atomic
def put_to_scale(*, plan: FloorPlan, scale: Scale, who: Person, now: datetime) -> FloorPlan:
    """Put the picture to scale, and where asked move the openings along with it. Raises Forbidden and BadInput."""
    must(who, plan.site_id, Right.CHANGE_SCHEDULE)
    Site.objects.select_for_update().get(pk=plan.site_id)
    plan = FloorPlan.objects.select_related("site", "floor").get(pk=plan.pk)
    metres_per_px = _metres_per_px(plan, scale)
    spots = _spots_in_px(plan) if scale.with_openings and plan.metres_per_px else {}
    before = facts_of(plan, "distance", "metres_per_px", "left", "bottom")
    plan.first_x, plan.first_y = scale.first
    plan.second_x, plan.second_y = scale.second
    plan.distance, plan.metres_per_px = scale.distance, metres_per_px
    if scale.opening is not None:
        plan.left, plan.bottom = _corner_from(plan, scale.opening, metres_per_px)
    plan.set_at, plan.set_by = now, who
    plan.save()
    record_change(
        site=plan.site_id, who=who, now=now, kind=Kind.FLOOR_PLAN, act=Act.CHANGED, about=str(plan.floor),
        differences=differing(before, facts_of(plan, *before)),
    )  # fmt: skip
    move_openings(
        floor=plan.floor,
        spots={opening: metres_of(plan, x, y) for opening, (x, y) in spots.items()},
        who=who,
        now=now,
    )
    return plan


@transaction.atomic
def take_plan_away(*, plan: FloorPlan, who: Person, now: datetime) -> None:
    """Take the plan's picture away; openings keep their positions. Raises Forbidden.

    It is kept, unseen, until another takes its place, so that taking it away can be taken back.
    """
    must(who, plan.site_id, Right.CHANGE_SCHEDULE)
    if FloorPlan.objects.filter(pk=plan.pk, away_at=None).update(away_at=now, away_by=who):
        record_change(
            site=plan.site_id, who=who, now=now, kind=Kind.FLOOR_PLAN, act=Act.REMOVED, about=str(plan.floor),
            differences={"file": (plan.file_name, "")},
        )  # fmt: skip


@transaction.atomic
def take_plan_back(*, floor: Floor, who: Person, now: datetime) -> None:
    """Put back the picture this person has just taken away. Raises Forbidden, and Conflict where it is too late."""
    must(who, floor.site_id, Right.CHANGE_SCHEDULE)
    plan = FloorPlan.objects.filter(pk=floor.pk).select_related("away_by").first()
    away_by, away_at = (plan.away_by, plan.away_at) if plan else (None, None)
    must_be_ones_own_and_recent(done_by=away_by, done_at=away_at, who=who, now=now)
    if FloorPlan.objects.filter(pk=floor.pk, away_at=away_at).update(away_at=None, away_by=None) and plan:
        record_change(
            site=plan.site_id, who=who, now=now, kind=Kind.FLOOR_PLAN, act=Act.RESTORED, about=str(floor),
            differences={"file": ("", plan.file_name)},
        )  # fmt: skip


def metres_of(plan: FloorPlan, x: float, y: float) -> Spot:
    """Where a point of the picture, in px right and down, lies on the floor."""
    scale = plan.metres_per_px or 0.0
    return plan.left + x * scale, plan.bottom + (plan.height - y) * scale


def _spots_in_px(plan: FloorPlan) -> Mapping[Opening, tuple[float, float]]:
    scale = plan.metres_per_px or 1.0
    return {
        opening: ((opening.x - plan.left) / scale, plan.height - (opening.y - plan.bottom) / scale)
        for opening in Opening.objects.filter(floor=plan.floor)
        if opening.x is not None and opening.y is not None
    }


def _corner_from(plan: FloorPlan, opening: Opening, metres_per_px: float) -> tuple[float, float]:
    """The picture's lower left corner in metres, so that the opening stands at the first point."""
    if opening.x is None or opening.y is None:
        said = _("The position of %(number)s is not known; name one whose position is, or none.")
        raise _refused("opening", said % {"number": opening.number}, opening.number)
    first_x, first_y = plan.first_x or 0.0, plan.first_y or 0.0
    return opening.x - first_x * metres_per_px, opening.y - (plan.height - first_y) * metres_per_px


def _metres_per_px(plan: FloorPlan, scale: Scale) -> float:
    for field, (x, y) in (("first", scale.first), ("second", scale.second)):
        if not (0 <= x <= plan.width and 0 <= y <= plan.height):
            said = _("The point lies off the picture, which has %(width)d by %(height)d pixels.")
            raise _refused(field, said % {"width": plan.width, "height": plan.height}, f"{x:g}, {y:g}")
    apart = hypot(scale.second[0] - scale.first[0], scale.second[1] - scale.first[1])
    if apart < LEAST_APART:
        raise _refused("second", _("The two points lie on each other. Choose two that are far apart."))
    if scale.distance.nm <= 0:
        raise _refused("distance", _("The distance must be more than zero."))
    metres_per_px = float(scale.distance.mm) / 1000 / apart
    span = from_mm(metres_per_px * 1000 * max(plan.width, plan.height))
    if not LEAST_SPAN <= span <= MOST_SPAN:
        said = _("By this distance the whole picture would be %(span)d m long. Check the distance and its unit.")
        raise _refused("distance", said % {"span": round(span.mm / 1000)})
    return metres_per_px


def _keep(floor: Floor, drawn: Picture, upload: Upload, pages: int, by: tuple[Person, datetime]) -> FloorPlan:
    """Store the picture, and the PDF it was drawn from where there is one (`pages` is 0 for a plain picture)."""
    with transaction.atomic():
        Site.objects.select_for_update().get(pk=floor.site_id)
        before = FloorPlan.objects.filter(pk=floor.pk).first()
        plan = before or FloorPlan(floor=floor, site=floor.site)
        facts = facts_of(before, "file_name", "page", "digest") if before else {}
        if before:
            _drop_later(before.picture, before.pdf)
        if (plan.width, plan.height) != (drawn.width, drawn.height):
            plan.metres_per_px = plan.distance = None
            plan.first_x = plan.first_y = plan.second_x = plan.second_y = None
        plan.width, plan.height, plan.digest = drawn.width, drawn.height, sha256(drawn.content).hexdigest()
        plan.file_name, plan.page, plan.pages = upload.name[:200], upload.page if pages else 1, pages or 1
        plan.set_by, plan.set_at = by
        plan.away_at = plan.away_by = None
        plan.picture.save(f"{new_id()}.webp", ContentFile(drawn.content), save=False)
        if pages:
            plan.pdf.save(f"{new_id()}.pdf", ContentFile(upload.content), save=False)
        else:
            plan.pdf = ""
        plan.save()
        record_change(
            site=plan.site_id, who=by[0], now=by[1], kind=Kind.FLOOR_PLAN, act=Act.CHANGED if before else Act.ADDED,
            about=str(floor), differences=differing(facts, facts_of(plan, "file_name", "page", "digest")),
        )  # fmt: skip
        return plan


def _drop_later(*files: Any) -> None:
    """Delete files once it is certain that no row names them any more."""
    for file in files:
        if file:
            transaction.on_commit(partial(file.storage.delete, str(file.name)))


def _refused(field: str, said: str, read: str = "") -> BadInput:
    return BadInput(said, errors=[FieldError(field, said, read=read)])
