"""A schedule of 20,000 rows previews and loads in bounded memory, and says how far it is."""

import gc
import resource
from pathlib import Path

import pytest
import xlsxwriter

from openings.intake.previewing import preview
from openings.intake.sources import opened_source
from openings.intake.taking_in import SeenFile, choices_for, take_in_file
from openings.models import Opening
from tests import builders
from tests.builders import MONDAY

ROWS = 20_000
# The sheet laid out by its reader, the numbers of 20,000 openings and one chunk of them as objects: 38 MB when this was
# written.
MOST_BYTES = 56_000_000
HELD_NOW = Path("/proc/self/statm")


def held_now() -> int:
    """Bytes of memory this process holds at this moment."""
    return int(HELD_NOW.read_text().split()[1]) * resource.getpagesize()


def large_schedule(path: Path) -> Path:
    book = xlsxwriter.Workbook(path, {"constant_memory": True})
    sheet = book.add_worksheet("Door Schedule")
    sheet.write_row(
        0, 0, ["Door No.", "Level", "Width", "Height", "Hand", "Hdwr Set", "Fire Rating", "From Room", "Remarks"]
    )
    for n in range(ROWS):
        floor = n % 40 + 1
        sheet.write_row(
            n + 1, 0,
            [f"{floor}-{n:05d}", floor, "3'-0\"", "7'-0\"", "RH", f"HW-{n % 30}", "NR", f"Room {n}", f"see detail {n}"],
        )  # fmt: skip
    book.close()
    return path


@pytest.mark.skipif(not HELD_NOW.exists(), reason="needs /proc to see the memory held")
@pytest.mark.django_db
def test_twenty_thousand_rows_preview_and_load_in_bounded_memory_with_a_progress_figure(tmp_path: Path) -> None:
    path = large_schedule(tmp_path / "large.xlsx")
    site = builders.site()
    figures: list[tuple[int, int]] = []
    held: list[int] = []

    def progress(done: int, total: int) -> None:
        figures.append((done, total))
        held.append(held_now())

    gc.collect()
    before = held_now()
    with opened_source(path, path.name) as source:
        settled = choices_for(site, source).proposed
        made = preview(site, source, settled, progress=progress)
        seen = SeenFile(path, path.name, settled, made.based_on)
        shown = len(figures)
        take_in_file(site=site, source=source, seen=seen, who=builders.supervisor(site), now=MONDAY, progress=progress)
    assert made.counts["added"] == Opening.objects.count() == ROWS
    assert max(held) - before < MOST_BYTES
    for part in (figures[:shown], figures[shown:]):
        assert len(part) > 50
        assert part == sorted(part)
        assert part[-1][0] == part[-1][1]
