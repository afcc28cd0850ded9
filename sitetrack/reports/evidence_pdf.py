"""An evidence pack on paper: every check as read, judged, signed and sealed, with the frame drawn as it was found."""

from collections.abc import Callable, Iterator
from datetime import datetime
from functools import partial
from io import BytesIO
from pathlib import Path
from typing import Any

from django.core.files.storage import default_storage
from django.utils import translation
from django.utils.translation import gettext as _
from reportlab.platypus import CondPageBreak, Flowable, Image, KeepTogether, PageBreak, Spacer

from inspections.evidence.drawn import frame_drawing
from inspections.evidence.pack import Mark, Pack, PackCheck, PackOpening
from inspections.services.photos import photo_is_kept, photo_name, read_photo
from inspections.services.profiles import prepared_profile
from inspections.trueness.errors import ReadingError
from inspections.trueness.profile import ToleranceProfile
from openings.models import Opening
from openings.selectors.plans import prepared_plan
from sitetrack.access.roles import Role
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.lengths import format_length
from sitetrack.reports.check_rows import item_rows
from sitetrack.reports.names import said
from sitetrack.reports.paper.blocks import SMALL, ScanCode, beside, heading, ruled, subheading, words
from sitetrack.reports.paper.picture import Picture
from sitetrack.reports.paper.sheet import Sheets, TitleBlock, room
from sitetrack.reports.steps import Steps, finished
from sitetrack.reports.tables import Row
from sitetrack.reports.words import VOCABULARIES

Address = Callable[[Opening], str]
DRAWING_HEIGHT = 430
FACTS_WIDTH = 150
ROOM_FOR_A_CHECK = 110
MOST_PHOTOS, PHOTO_SIDE = 4, 120  # of one check; points
# Readings that tell how a frame stands; a check of the leaf's gaps alone does not.
SHAPE = {"squareness", "twist", "alignment", "head_level", "hinge_plumb_side", "width_head"}
ITEM_SHARES = (0.20, 0.10, 0.10, 0.16, 0.09, 0.10, 0.25)


def write_evidence_pdf(pack: Pack, path: Path, *, size: str, address: Address, now: datetime) -> int:
    """Print a pack in one go; see `evidence_steps`."""
    return finished(evidence_steps(pack, path, size=size, address=address, now=now))


def evidence_steps(pack: Pack, path: Path, *, size: str, address: Address, now: datetime) -> Steps[int]:
    """Print a pack in the language and units of its site; the number of sheets at the end.

    Tells (openings printed, openings in all) after each; broken off, it leaves no file. `address` tells where an
    opening's live record is, for the code to scan; `now` is said to be when it was made.
    """
    site = pack.site
    with translation.override(site.language):
        block = TitleBlock(
            job=f"{site.name} ({site.code})",
            title=_("Evidence of checks"),
            covers=covered(pack),
            mark=_("Sealed record, entry %(n)d: SHA-256 %(digest)s") % {"n": pack.end.n, "digest": pack.end.digest},
            page_words=_("Sheet %(n)d of %(of)d"),
            language=site.language,
        )
        printer = _Printer(pack, size, address)
        sheets = Sheets(path, size, block)
        sheets.add(list(printer.front(now)))
    for place, each in enumerate(pack.openings):
        with translation.override(site.language):  # not while whoever asked goes on
            before = PageBreak() if place else CondPageBreak(printer.height / 2)
            sheets.add([before, *printer.opening(each)])
        yield place + 1, len(pack.openings)
    return sheets.finish()


def covered(pack: Pack) -> str:
    """What a pack covers, in words."""
    asked, parts = pack.asked, []
    if asked.number:
        parts.append(_("Opening %(number)s") % {"number": asked.number})
    if asked.floor_id and pack.openings:
        floor = pack.openings[0].opening.floor
        parts.append(f"{floor}, {floor.building}")
    if asked.wall:
        parts.append(_("Wall %(code)s") % {"code": asked.wall})
    clock = pack.site.zone
    if asked.first:
        parts.append(_("from %(day)s") % {"day": asked.first.astimezone(clock).date().isoformat()})
    if asked.after:
        parts.append(_("before %(day)s") % {"day": asked.after.astimezone(clock).date().isoformat()})
    return " · ".join(parts) or _("The whole site")


class _Printer:
    """Turns one pack into parts of sheets."""

    def __init__(self, pack: Pack, size: str, address: Address) -> None:
        self.pack = pack
        self.address = address
        self.width, self.height = room(size)
        self.units = pack.site.unit_system
        self.language = pack.site.language

    def front(self, now: datetime) -> Iterator[Flowable]:
        """What the pack is, and how to prove it."""
        checks = sum(len(each.checks) for each in self.pack.openings)
        yield heading(_("Evidence of checks"))
        yield words(covered(self.pack))
        counts = {"openings": len(self.pack.openings), "checks": checks, "when": self.moment(now)}
        yield words(_("Openings: %(openings)d. Checks: %(checks)d. Made %(when)s.") % counts)
        yield words(
            _(
                "Readings stand as they were typed; verdicts as the server gave them when they came, by the limits and "
                "sources shown. Each check and signature is sealed by SHA-256 over its canonical JSON (RFC 8785), "
                "together with the digest of the one before it. The JSON of this pack proves that without this "
                "program; an anchor line mailed out earlier proves that nothing was cut off since."
            ),
            SMALL,
        )
        yield words(
            _(
                "The limits are those of the site's tolerance profile. Local codes, the listing of a rated frame and "
                "the licensed people responsible come before them."
            ),
            SMALL,
        )
        yield words(_("Words between [ ] were written in letters this print has not; the JSON has them."), SMALL)
        if not checks:
            yield words(_("Nothing was checked here yet."))

    def opening(self, each: PackOpening) -> Iterator[Flowable]:
        """One opening: what it is, the drawing, its checks."""
        opening = each.opening
        title = _("Opening %(number)s") % {"number": opening.number}
        facts = [subheading(title), *(words(line, SMALL) for line in self.facts(opening)), Spacer(1, 8)]
        facts += [ScanCode(self.address(opening)), words(_("Scan for the live record."), SMALL)]
        svg = self.drawn(each)
        if svg:
            wide = self.width - FACTS_WIDTH
            yield beside([Picture(svg, wide - 8, DRAWING_HEIGHT), facts], [wide, FACTS_WIDTH])
        else:
            yield from facts
        if any(_outlived(each, check) for check in each.checks):
            yield words(
                _("The schedule was changed after a check below: that one tells of the frame as scheduled then.")
            )
        for check in each.checks:
            yield from self.check(check, opening)

    def drawn(self, each: PackOpening) -> str | None:
        """The frame by the last check that read how true it stands, was not taken back and is of this very frame."""
        true = [check for check in each.checks if not check.taken_back and SHAPE & set(check.check_in.readings)]
        last = true[-1] if true and not _outlived(each, true[-1]) else None
        readings = last.check_in.readings if last else {}
        profile = prepared_profile(last.frame_check.profile_id) if last else ToleranceProfile()
        try:
            drawn = frame_drawing(each.opening, readings, profile=profile, language=self.language)
        except ReadingError:
            return None
        return drawn.svg if drawn else None

    def facts(self, opening: Opening) -> Iterator[str]:
        """What the schedule tells of an opening, in lines."""
        yield f"{opening.floor}, {opening.floor.building}"
        sizes = [opening.width, opening.height]
        if all(sizes):
            yield " × ".join(format_length(size, units=self.units, feet=True) for size in sizes if size)
        told = [opening.mark, opening.hand, opening.wall.code if opening.wall else "", opening.rating_text]
        if any(told):
            yield " · ".join(part for part in told if part)

    def check(self, check: PackCheck, opening: Opening) -> Iterator[Flowable]:
        """One check: who read it and when, item by item, who signed it, and its seal."""
        stages = {stage.code: stage for stage in prepared_plan(opening.plan_id).stages}
        stage, told = stages.get(check.check_in.stage), check.check_in
        title = said(stage.title, self.language) if stage else told.stage
        who = {"when": self.moment(told.corrected_at), "person": told.person, "company": told.company}
        lines = [_("Read %(when)s by %(person)s, %(company)s.") % who]
        if (told.received_at - told.corrected_at).total_seconds() > 60:
            lines.append(_("Received %(when)s.") % {"when": self.moment(told.received_at)})
        if told.device:
            clock = {"device": told.device, "ms": told.uncertainty_ms / 1000}
            lines.append(_("From %(device)s, its clock known to ±%(ms).1f s.") % clock)
        if told.note:
            lines.append(_("Note: %(note)s") % {"note": told.note})
        yield CondPageBreak(ROOM_FOR_A_CHECK)
        yield KeepTogether(
            [
                subheading(f"{title}: {VOCABULARIES['verdict'][check.frame_check.verdict]}"),
                words(" ".join(lines), SMALL),
            ]
        )
        rows = list(item_rows(check.frame_check.judged, told.readings, stage, self.units, self.language))
        if rows:
            heads = (
                _("Item"),
                _("As read"),
                _("Value"),
                _("Limit"),
                _("Margin"),
                _("Verdict"),
                _("Source of the limit"),
            )
            yield ruled(heads, [self.item(row) for row in rows], [self.width * share for share in ITEM_SHARES])
        yield from self.after(check, signed=bool(check.signatures or (stage and stage.sign_roles)))
        yield Spacer(1, 6)

    def item(self, row: Row) -> list[object]:
        """One thing judged, as cells."""
        mark = VOCABULARIES["mark"].get(str(row["source_mark"]), "")
        source = f"{row['source']} ({mark})" if row["source"] else ""
        name = VOCABULARIES["item"].get(str(row["item"]), row["item"])
        verdict = VOCABULARIES["verdict"].get(str(row["item_verdict"]), row["item_verdict"])
        return [name, row["as_read"], row["value"], row["limit"], row["margin"], verdict, source]

    def after(self, check: PackCheck, *, signed: bool) -> Iterator[Flowable]:
        """What was said of a check afterwards, its photos, and its seal. `signed`: its stage asks for a signature."""
        say = partial(words, style=SMALL)
        for mark in check.signatures:
            yield say(self.marked(mark, _("Signed %(when)s by %(person)s, %(company)s (%(role)s).")))
        if signed and not check.signatures:
            yield say(_("Not signed."))
        for mark in check.taken_back:
            yield say(self.marked(mark, _("Taken back %(when)s by %(person)s, %(company)s (%(role)s).")))
        shown = [digest for digest in check.check_in.photos if digest in check.come]
        pictures = [_fitted(digest) for digest in shown[:MOST_PHOTOS] if photo_is_kept(digest)]
        if pictures:
            yield beside(pictures, [self.width / MOST_PHOTOS] * len(pictures))
        for digest in check.check_in.photos:
            state = _("received") if digest in check.come else _("not received")
            yield say(_("Photo %(digest)s (%(state)s)") % {"digest": digest, "state": state})
        if check.entry:
            seal = {"n": check.entry.n, "digest": check.entry.digest}
            yield say(_("Sealed as entry %(n)d: %(digest)s") % seal)
        else:
            yield say(_("Stands in no entry of the sealed record. Have the record verified."))

    def marked(self, mark: Mark, sentence: str) -> str:
        """A signature or a taking back in a sentence, its reason and its seal."""
        who = {"when": self.moment(mark.at), "person": mark.person, "company": mark.company}
        who["role"] = str(dict(Role.choices).get(mark.role, mark.role))
        seal = _("Entry %(n)d: %(digest)s") % {"n": mark.entry.n, "digest": mark.entry.digest} if mark.entry else ""
        return " ".join(part for part in (sentence % who, mark.reason, seal) if part)

    def moment(self, at: datetime) -> str:
        """A moment on the site's clock, to the minute, with its offset."""
        return f"{at.astimezone(self.pack.site.zone):%Y-%m-%d %H:%M %z}"


def _fitted(digest: str) -> Image:
    """A photo as it was kept, no bigger than its room; read when it is drawn, where it is a file of this machine."""
    try:
        source: Any = default_storage.path(photo_name(digest))
    except NotImplementedError:
        source = BytesIO(read_photo(digest))
    return Image(source, width=PHOTO_SIDE, height=PHOTO_SIDE, kind="proportional", lazy=2)


def pack_about(pack: Pack, now: datetime) -> dict[str, object]:
    """What the JSON of a pack says of itself."""
    asked = pack.asked
    return {
        "opening": asked.number or None,
        "floor": str(asked.floor_id) if asked.floor_id else None,
        "wall": asked.wall or None,
        "from": rfc3339(asked.first) if asked.first else None,
        "before": rfc3339(asked.after) if asked.after else None,
        "made_at": rfc3339(now),
    }


def _outlived(each: PackOpening, check: PackCheck) -> bool:
    """Whether the schedule has made the frame another one since it was read."""
    return each.changed_at is not None and check.check_in.corrected_at < each.changed_at
