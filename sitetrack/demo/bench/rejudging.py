"""What reading every check of a site again under another profile costs."""

from datetime import UTC, datetime, timedelta
from functools import partial
from random import Random

from inspections.services.check_ins import MOST_ITEMS, record_check_ins
from inspections.services.rejudging import rejudge
from inspections.services.reports import Report, Sender
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from openings.models import Opening, Site
from openings.services.sites import open_site
from sitetrack.access.models import Company, Person
from sitetrack.access.scope import membership_of
from sitetrack.demo.bench.figures import Figure, each_in_ms, milliseconds
from sitetrack.demo.bench.scratch import scratch_database
from sitetrack.demo.measuring import read, set_frame
from sitetrack.demo.taking_in import take_csv_in
from sitetrack.kit.ids import new_id
from sitetrack.kit.lengths import INCH

CHECKS, SAMPLES = 10_000, 3
MORNING = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)
FRAME = NominalOpening(INCH * 36, INCH * 84)
RIGHT = {"spreaders_in": True, "frame_undented": True, "inspected_in_wall": True}


def measure_rejudge(*, quick: bool) -> list[Figure]:
    """In a data base of its own: record the checks, through the one service that writes them, then read them again."""
    count = CHECKS // 20 if quick else CHECKS
    with scratch_database():
        site, sender = _site()
        recorded = [milliseconds(partial(_record, site, sender, n)) for n in range(count // MOST_ITEMS)]
        tighter = ToleranceProfile.from_dict({"plumb": "1/32"})
        again = each_in_ms(f"{count} checks read again", [lambda: rejudge(site=site, profile=tighter)] * SAMPLES)
    return [
        Figure(f"{MOST_ITEMS} checks recorded and judged", "ms", tuple(recorded)),
        again,
        Figure("checks read again", "checks/s", tuple(count * 1000 / each for each in again.samples)),
    ]


def _site() -> tuple[Site, Sender]:
    who = Person.objects.create_user("bench@example.com", name="Bench")
    firm = Company.objects.create(name="Bench")
    site = open_site(code="bench", name="Bench", supervisor=who, company=firm, now=MORNING)
    rows = [f"{1000 + n},1,3'-0\",7'-0\",RH" for n in range(MOST_ITEMS)]
    text = "\r\n".join(["Number,Floor,Width,Height,Hand", *rows])
    take_csv_in(site=site, text=text, file_name="bench.csv", label="", who=who, now=MORNING)
    membership = membership_of(who, site.pk)
    if membership is None:
        raise RuntimeError("the bench's supervisor has no role on the bench's site")
    return site, Sender(who, membership)


def _record(site: Site, sender: Sender, round_: int) -> None:
    at = MORNING + timedelta(hours=round_ + 1)
    rng = Random(round_)
    reports = [
        Report(
            id=new_id(),
            opening=number,
            stage="trueness",
            action="finish",
            happened_at=at,
            digest="",
            raw={},
            readings=read(set_frame(rng), FRAME, rng),
            answers=RIGHT,
        )
        for number in Opening.objects.filter(site=site).values_list("number", flat=True)
    ]
    record_check_ins(site=site, sender=sender, reports=reports, device_time=None, now=at)
