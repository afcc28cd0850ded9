"""What stands before the first check-in: the site, its people and phones, its floors and walls."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from openings.models import Floor, Site
from openings.selectors.facts import WallTold
from openings.services.places import Places, Walls
from openings.services.sites import open_site
from sitetrack.access.models import Company, Device, Membership, Person
from sitetrack.access.services.enrolment import issue_token
from sitetrack.demo import schedule
from sitetrack.demo.days import JobDays
from sitetrack.demo.layout import FLOOR_TO_FLOOR_INCHES, FLOORS
from sitetrack.demo.names import DEMO_PASSWORD, PEOPLE, SITE_CODE, SITE_NAME, SUPERVISOR, TIME_ZONE
from sitetrack.demo.phones import PHONES
from sitetrack.kit.lengths import INCH, parse_length

BUILDING = "Clinic"
# Calendar days from the job's first day to the day every frame of the floor is to be proved.
FLOOR_DUE = {"1": 16, "2": 30, "3": 44}
JOB_LASTS = timedelta(days=70)


@dataclass(frozen=True, slots=True)
class Ground:
    """The site and who is on it, by the keys of names.py and phones.py."""

    site: Site
    people: Mapping[str, Person]
    devices: Mapping[str, Device]


def companies() -> dict[str, Company]:
    """The demo's companies by name; those that are not there yet are made."""
    return {name: Company.objects.get_or_create(name=name)[0] for name in {person.company for person in PEOPLE}}


def people(joined: datetime) -> dict[str, Person]:
    """The demo's people by key; those that are not there yet join then. They may work on several sites."""
    there = {person.email: person for person in Person.objects.filter(email__in=[each.email for each in PEOPLE])}
    return {
        somebody.key: there.get(somebody.email)
        or Person.objects.create_user(
            somebody.email,
            DEMO_PASSWORD if somebody.shown else None,
            name=somebody.name,
            language=somebody.language,
            joined_at=joined,
        )
        for somebody in PEOPLE
    }


def prepare(days: JobDays, *, code: str = SITE_CODE) -> Ground:
    """Open the site and put its people on it, as of the evening before the job began."""
    first = days.days[0]
    opened = days.at(first, "05:00")
    firms, there = companies(), people(opened)
    boss = next(person for person in PEOPLE if person.key == SUPERVISOR)
    site = open_site(
        code=code,
        name=SITE_NAME,
        supervisor=there[SUPERVISOR],
        company=firms[boss.company],
        now=opened,
        time_zone=TIME_ZONE,
        starts_on=first,
        ends_on=first + JOB_LASTS,
        contact=f"{boss.name}, {boss.company}",
    )
    for somebody in PEOPLE:
        if somebody.key != SUPERVISOR:
            Membership.objects.create(
                site=site,
                person=there[somebody.key],
                company=firms[somebody.company],
                role=somebody.role,
                trades=list(somebody.trades),
                began_at=opened,
            )
    _build(site, days)
    return Ground(site, there, _enrol(site, there, opened))


def _build(site: Site, days: JobDays) -> None:
    places, walls = Places(site), Walls(site)
    for index, (code, name) in enumerate(FLOORS):
        floor = places.floor(name, BUILDING, INCH * (FLOOR_TO_FLOOR_INCHES * index))
        Floor.objects.filter(pk=floor.pk).update(due_on=days.days[0] + timedelta(days=FLOOR_DUE[code]))
    for build in schedule.WALLS.values():
        walls.wall(
            WallTold(
                code=build.code,
                kind="steel_stud",
                stud=parse_length(build.stud),
                thickness=parse_length(build.thickness),
                boards_pull=(schedule.BOARD,) * build.layers,
                boards_push=(schedule.BOARD,) * build.layers,
            )
        )


def _enrol(site: Site, people: Mapping[str, Person], opened: datetime) -> dict[str, Device]:
    """Enrol every phone; its token goes nowhere, since the demo's own check-ins are written here."""
    return {
        phone.key: issue_token(
            site_id=site.pk, person=people[phone.owner], name=phone.name, kind=Device.Kind.PHONE, now=opened
        )[0]
        for phone in PHONES
    }
