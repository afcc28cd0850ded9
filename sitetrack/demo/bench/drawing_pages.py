"""What drawing a page costs the server, and how many queries it asks, as a site grows."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from openings.models import Floor
from sitetrack.demo.bench.figures import Figure, each_in_ms
from sitetrack.demo.bench.scratch import shared_database
from sitetrack.demo.bench.worked_sites import WorkedSite, worked_site

SIZES, QUICK_SIZES = (240, 5_000, 50_000), (20, 40)
SAMPLES, QUICK_SAMPLES = 15, 2
QUERIES = "queries"


def measure_pages(*, quick: bool) -> list[Figure]:
    """Every page drawn for the site's supervisor, from the request to its last byte; no server and no browser."""
    sizes, samples = (QUICK_SIZES, QUICK_SAMPLES) if quick else (SIZES, SAMPLES)
    with shared_database():
        sites = {size: worked_site(size, f"bench-{size}") for size in sizes}
        return list(pages_of(sites, samples))


def pages_of(sites: dict[int, WorkedSite], samples: int) -> Iterator[Figure]:
    """Milliseconds and queries of each page, by the number of openings; ratios are to the smallest site's."""
    for page in ("Today", "Floor", "Opening"):
        first = ""
        for size, worked in sites.items():
            client = signed_in_client(worked)
            ask = partial(ask_page, client, addresses(worked)[page])
            name = f"{page}, {size} openings"
            yield each_in_ms(name, [ask] * samples, of=first)
            yield Figure(f"{name}: {QUERIES}", QUERIES, (float(queries_of(ask)),), first and f"{first}: {QUERIES}")
            first = first or name


def addresses(worked: WorkedSite) -> dict[str, str]:
    """Where each page of a site is: the first floor in walking order, and an opening whose trueness was read."""
    code = worked.site.code
    floor = Floor.objects.filter(site=worked.site).order_by("building__code", "level")[0]
    return {
        "Today": reverse("desk:today", args=[code]),
        "Floor": reverse("desk:floor", args=[code, floor.pk]),
        "Opening": reverse("desk:opening", args=[code, worked.read]),
    }


def queries_of(ask: Callable[[], object]) -> int:
    """How many statements one call makes."""
    with CaptureQueriesContext(connection) as asked:
        ask()
    return len(asked)


def signed_in_client(worked: WorkedSite) -> Client:
    """The supervisor's browser."""
    client = Client(SERVER_NAME="localhost")
    client.force_login(worked.boss)
    return client


def ask_page(client: Client, address: str) -> Sequence[bytes]:
    """The page; raises RuntimeError for any answer but a good one."""
    answer = client.get(address)
    if answer.status_code != 200:
        raise RuntimeError(f"{address}: {answer.status_code}")
    return [answer.content]
