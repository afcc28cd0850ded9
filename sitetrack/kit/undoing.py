"""When something may still be taken back by an Undo: by who did it, soon after."""

from datetime import datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _

from sitetrack.kit.problems import Conflict

# Long enough to read what was told and see the mistake, short enough that others have hardly acted on it. Chosen here.
UNDO_WITHIN = timedelta(minutes=15)


def must_be_ones_own_and_recent(*, done_by: Any, done_at: datetime | None, who: Any, now: datetime) -> None:
    """Raise `Conflict` unless `who` did it within the last minutes. `done_at` is None where it does not stand now."""
    if done_at is None:
        raise Conflict(_("Nothing to undo: it has been undone or changed meanwhile."))
    if done_by != who:
        raise Conflict(_("Not undone: %(who)s has changed it since.") % {"who": done_by or "?"})
    if now - done_at > UNDO_WITHIN:
        raise Conflict(
            _("Not undone: that is possible for %(n)d minutes only, because others act on it.")
            % {"n": UNDO_WITHIN.total_seconds() // 60}
        )
