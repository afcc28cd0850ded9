"""A phone enrols while the cache is away."""

import pytest
from django.core.cache import cache
from redis.exceptions import ConnectionError as CacheAway

from sitetrack.access.services.enrolment import make_enrolment_code
from sitetrack.kit.clock import now
from tests import builders as b

pytestmark = pytest.mark.django_db


def test_a_phone_enrols_while_the_cache_is_away(monkeypatch):
    site = b.site()
    hand = b.crew(site)
    code = make_enrolment_code(site_id=site.pk, person=hand, who=b.supervisor(site), now=now())

    def away(*_args, **_more):
        raise CacheAway("no")

    monkeypatch.setattr(type(cache._connections["default"]), "get", away)
    answer = b.client().post("/api/v1/devices/enrol", {"code": code, "name": "Blue phone"})
    assert answer.status_code == 201
