"""A large job asks the data base no more often than a small one: the same queries at 240 and at 5,000 openings."""

from functools import partial

import pytest

from sitetrack.demo.bench.drawing_pages import addresses, queries_of
from sitetrack.demo.bench.worked_sites import worked_site
from tests.desk.looking import signed_in

pytestmark = pytest.mark.django_db

PINNED = {"Today": 28, "Floor": 11, "Opening": 18}


def test_pages_ask_as_often_at_5000_openings_as_at_240() -> None:
    for size in (240, 5_000):
        worked = worked_site(size, f"job-{size}")
        client = signed_in(worked.boss)
        counted = {}
        for page, address in addresses(worked).items():
            client.get(address)  # a first look notes itself
            counted[page] = queries_of(partial(client.get, address))
        assert counted == PINNED, f"{size} openings"
