"""How much at once: generous for one phone, bounded for a crowd that leaves the stairwell in the same second.

Whoever is told to wait is told a time with chance in it, so that the crowd does not come back in the same second.
"""

import logging
import random
from dataclasses import dataclass

from django.conf import settings
from django.core.cache import cache
from redis.exceptions import RedisError
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle
from rest_framework.views import APIView

from sitetrack.access.api.asking import device_of
from sitetrack.access.models import Device
from sitetrack.kit.clock import now, to_ms

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Rate:
    """So many requests in a window of so many seconds."""

    most: int
    seconds: int


ONE_PHONE = Rate(240, 60)
ONE_PROGRAM = Rate(6000, 60)
ALL_PHONES_OF_A_SITE = Rate(settings.CROWD_MOST, 10)


class _WindowThrottle(BaseThrottle):
    """Counts requests in fixed windows. When the cache can't be reached nobody is turned away: reports come first."""

    wait_ms = 0

    def allow_request(self, request: Request, view: APIView) -> bool:
        counted = self.counted(request)
        if counted is None:
            return True
        key, rate = counted
        window, passed = divmod(to_ms(now()), rate.seconds * 1000)
        self.wait_ms = rate.seconds * 1000 - passed + int(random.random() * rate.seconds * 1000)  # noqa: S311
        return _count(f"sync:{key}:{window}", rate.seconds) <= rate.most

    def wait(self) -> float:
        """Seconds to wait: the rest of the window, and by chance up to another one."""
        return max(1.0, self.wait_ms / 1000)

    def counted(self, request: Request) -> tuple[str, Rate] | None:
        """Under what to count the request, and how much is too much; None where it is not counted."""
        raise NotImplementedError


class OwnRate(_WindowThrottle):
    """One phone, program or person."""

    def counted(self, request: Request) -> tuple[str, Rate]:
        device = device_of(request)
        if device is None:
            return f"person:{request.user.pk}", ONE_PHONE
        return f"device:{device.pk}", ONE_PROGRAM if device.kind == Device.Kind.PROGRAM else ONE_PHONE


class CrowdRate(_WindowThrottle):
    """All phones of a site together."""

    def counted(self, request: Request) -> tuple[str, Rate] | None:
        device = device_of(request)
        if device is None or device.kind != Device.Kind.PHONE:
            return None
        return f"site:{device.site_id}", ALL_PHONES_OF_A_SITE


SYNC_THROTTLES = [OwnRate, CrowdRate]


def _count(key: str, seconds: int) -> int:
    try:
        cache.add(key, 0, seconds * 2)
        return cache.incr(key)
    except ValueError:  # gone between the two
        return 1
    except (RedisError, OSError) as error:
        log.warning("requests not counted: cache not reached (%s)", type(error).__name__)
        return 0
