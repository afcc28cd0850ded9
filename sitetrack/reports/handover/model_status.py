"""Status written back into a building model: a property set on each door that the schedule knows by its GlobalId."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

import ifcopenshell
from ifcopenshell.api.pset import edit_pset
from ifcopenshell.util.element import get_psets

from inspections.models import Progress
from openings.models import Site
from openings.sequence.stage import Mark
from sitetrack.reports.handover.component_rows import installed_on
from sitetrack.reports.handover.marked import is_done

# Names that begin with Pset_ are the standard's own; a program's must not.
SET_NAME = "Sitetrack_FrameStatus"
CHUNK = 500


@dataclass(frozen=True, slots=True)
class Written:
    """How many doors were given their status, and the openings whose key the model does not have."""

    doors: int
    not_found: tuple[str, ...]


def write_model_status(site: Site, source: Path, target: Path) -> Written:
    """Write `source` to `target` with the status of each door; a status from an earlier time is replaced.

    Raises ValueError where the file is no model, or `target` is `source`.
    """
    if source.resolve() == target.resolve():
        raise ValueError("The model is never overwritten: name another file for the result.")
    try:
        model = cast(ifcopenshell.file, ifcopenshell.open(str(source)))
    except Exception as error:
        raise ValueError(f"{source.name} can't be read as a building model: {error}") from error
    doors: dict[str, Any] = {door.GlobalId: door for door in model.by_type("IfcDoor")}
    count, missing = 0, []
    for progress in _progress(site):
        door = doors.get(progress.opening.source_key)
        if door is None:
            missing.append(progress.opening.number)
            continue
        known = get_psets(door, psets_only=True).get(SET_NAME)
        pset: Any = (
            model.by_id(known["id"]) if known else ifcopenshell.api.pset.add_pset(model, product=door, name=SET_NAME)
        )
        edit_pset(model, pset=pset, properties=properties_of(progress, site))
        count += 1
    partial = target.with_name(f".{target.name}.part")
    try:
        model.write(str(partial))
        partial.replace(target)
    finally:
        partial.unlink(missing_ok=True)
    return Written(count, tuple(missing))


def properties_of(progress: Progress, site: Site) -> dict[str, str | bool | float]:
    """What the property set says of an opening; what is not known is an empty text, not left from before."""
    plan = progress.opening.plan_id
    return {
        "OpeningNumber": progress.opening.number,
        "Progress": float(progress.earned * 100 // progress.total if progress.total else 0),
        "NextStage": progress.next_stage,
        "OnHold": progress.held,
        "CheckedTrue": is_done(progress, plan, Mark.PROVES_OPEN_WALL),
        "CheckedAfterBoard": is_done(progress, plan, Mark.PROVES_CLOSED_WALL),
        "FrameSetOn": installed_on(progress, plan, site),
    }


def _progress(site: Site) -> Iterator[Progress]:
    rows = Progress.objects.filter(site=site, opening__in_schedule=True).exclude(opening__source_key="")
    return rows.select_related("opening").order_by("opening__number").iterator(chunk_size=CHUNK)
