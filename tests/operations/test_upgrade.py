"""What an earlier release left is taken over by this one, unattended: nothing lost, nothing different, phones go on.

`written_by_0_0.sql.gz` was written by `writes_release.py` with the sources of the release before this one.
"""

import gzip
import json
import sqlite3
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.operations.test_backup import Server

WRITTEN = Path(__file__).with_name("written_by_0_0.sql.gz")


@pytest.fixture
def old(tmp_path: Path) -> tuple[Server, dict[str, Any]]:
    """A server whose data base the earlier release wrote, and what must be known of it."""
    server = Server(tmp_path / "data")
    text = gzip.decompress(WRITTEN.read_bytes()).decode()
    with sqlite3.connect(server.folder / "sitetrack.sqlite3") as place:
        place.executescript(text)
        # A phone that is not heard of for 90 days must be enrolled again; these were at work when the server stopped.
        place.execute("UPDATE access_device SET last_seen_at = ?", [datetime.now(UTC).isoformat(" ")])  # noqa: TID251
    place.close()
    return server, json.loads(text.partition("\n")[0].removeprefix("-- "))


def test_an_earlier_release_is_taken_over_unattended(old: tuple[Server, dict[str, Any]]) -> None:
    server, told = old
    assert "openings.0002_marks_on_stages" in server.manage("migrate", "--plan"), "the earlier release lacks these"
    said = server.manage("migrate", "--noinput")
    assert "openings.0002_marks_on_stages... OK" in said
    assert "No planned migration operations" in server.manage("migrate", "--plan")
    assert "is whole: 13 entries" in server.manage("verify_record", "--site", told["site"])

    looks = server.start(
        "-m", "tests.operations.looks_around", told["site"], told["boss"], told["token"], told["revoked"]
    )
    said, _ = looks.communicate(timeout=120)
    assert looks.returncode == 0, said
    found = json.loads(said.splitlines()[-1])
    assert found["counted"] == {"check_ins": told["check_ins"], "holds": 2, "alerts": 2}
    assert (found["compared"], found["differ"]) == (5, []), "the fold of today gives what was stored then"
    assert {address: status for address, status in found["pages"].items() if status != 200} == {}
    assert len(found["pages"]) == 17
    assert (found["pulled"], found["pushed"], found["lost"]) == (200, "stored", 401)
    # What the later release does with the same check-ins, it does on the data it took over too.
    assert "is whole: 13 entries" in server.manage("verify_record", "--site", told["site"])
