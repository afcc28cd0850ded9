"""A profile with some of its settings changed, each limit keeping the source that vouches for it."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from inspections.standards.limits import Limit, Mark
from inspections.trueness.errors import ReadingError, shown
from inspections.trueness.profile import DEFAULT_PROFILE, LONGEST_SOURCE, ToleranceProfile

NOT_CHANGED_HERE = {"units": "no units here: they are the site's", "form": "no form here: it is the release's"}


def change_profile(profile: ToleranceProfile, changes: Mapping[str, object], *, source: str = "") -> ToleranceProfile:
    """Change settings by name; None or an empty text goes back to the published one. Raises ReadingError.

    A limit that says the same length as before keeps its source; one that says what is published takes that
    publication's; any other is the site's own, and `source` is where the site's documents say so.
    """
    for name, why in NOT_CHANGED_HERE.items():
        if name in changes:
            raise ReadingError(f"profile.{name}", shown(changes[name]), why)
    if len(source) > LONGEST_SOURCE:
        raise ReadingError("source", shown(source), f"text of at most {LONGEST_SOURCE} characters")
    published = DEFAULT_PROFILE.to_dict()
    given = {name: published.get(name, value) if value in (None, "") else value for name, value in changes.items()}
    asked = ToleranceProfile.from_dict({"units": profile.units, **given})
    settled: dict[str, Any] = {}
    for name in changes:
        wanted = getattr(asked, name)
        settled[name] = _vouched(wanted, profile, name, source) if isinstance(wanted, Limit) else wanted
    return replace(profile, **settled)


def _vouched(wanted: Limit, profile: ToleranceProfile, name: str, source: str) -> Limit:
    for known in (getattr(DEFAULT_PROFILE, name), getattr(profile, name)):
        if isinstance(known, Limit) and wanted.length == known.length:
            return known
    # Whoever changes a limit vouches for it as the site's; what a publication says is not theirs to mark.
    return replace(wanted, source=source or wanted.source, mark=Mark.SITE)
