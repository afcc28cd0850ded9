"""Openings that a person chose on a page, read again under the site's lock before anything is done to them."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from openings.models import Opening, Site
from sitetrack.kit.problems import BadInput, Conflict, NotFound

MOST_AT_ONCE = 2000


class ChangedMeanwhile(Conflict):
    """Somebody else changed one of them since it was read; `openings` are those, as they stand now."""

    def __init__(self, openings: list[Opening]) -> None:
        self.openings = openings
        numbers = ", ".join(opening.number for opening in openings[:10])
        super().__init__(
            _("Changed by someone since you read it: %(numbers)s. Look again and correct what is still wrong.")
            % {"numbers": numbers}
        )


def check_how_many(versions: Mapping[Any, int]) -> None:
    """Raise BadInput for none, or for more than are changed at once."""
    if not 0 < len(versions) <= MOST_AT_ONCE:
        raise BadInput(
            _("%(n)d openings were picked; pick from 1 to %(most)d.") % {"n": len(versions), "most": MOST_AT_ONCE}
        )


def chosen_openings(site: Site, versions: Mapping[Any, int]) -> list[Opening]:
    """The openings of these ids, each still at the version it was read at; the caller holds the site's lock.

    Raises NotFound for one that is not the site's, and ChangedMeanwhile.
    """
    found = Opening.objects.filter(site=site, pk__in=versions).select_related("floor__building", "wall", "plan")
    openings = list(found.order_by("floor__level", "walk", "number"))
    if len(openings) < len(versions):
        raise NotFound(_("One of the openings picked is not on this site. Pick again."))
    stale = [opening for opening in openings if opening.version != versions[opening.pk]]
    if stale:
        raise ChangedMeanwhile(stale)
    return openings
