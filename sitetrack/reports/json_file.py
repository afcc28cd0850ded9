"""The status as JSON: the same bytes for the same snapshot, a row a line, and the digest by which it is known."""

import hashlib
import json
from pathlib import Path
from typing import Any

from sitetrack.reports.snapshot import Snapshot

FORM = {"form": "weekly-status", "version": 1}


def write_json(snapshot: Snapshot, path: Path) -> str:
    """Write the snapshot to `path` in UTF-8; returns the SHA-256 of the file, in hex."""
    digest = hashlib.sha256()
    with path.open("wb") as file:

        def put(text: str) -> None:
            line = text.encode("utf-8")
            digest.update(line)
            file.write(line)

        put(f'{{"about": {_compact(FORM | dict(snapshot.header))},\n"words": {_compact(snapshot.words)},\n"tables": {{')
        for place, table in enumerate(snapshot.tables):
            titles = {column.key: column.title for column in table.columns}
            put(f'{"," if place else ""}\n{_compact(table.name)}: {{"title": {_compact(table.title)}, ')
            put(f'"columns": {_compact(titles)}, "rows": [')
            for n, row in enumerate(snapshot.rows(table)):
                put(f"{',' if n else ''}\n{_compact(row)}")
            put("]}")
        put("}}\n")
    return digest.hexdigest()


def _compact(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
