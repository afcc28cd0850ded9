"""An empty data base for as long as something is measured; the real one is not touched."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connection


@contextmanager
def scratch_database() -> Iterator[None]:
    """Make it beside the real one, by Django's own means for tests, and drop it afterwards.

    SQLite's lies in memory. A PostgreSQL user needs leave to create data bases; its name carries this process's
    number, so that a run of the tests beside it is left alone.
    """
    real = connection.settings_dict["NAME"]
    if connection.vendor != "sqlite":
        connection.settings_dict["TEST"]["NAME"] = f"bench_{os.getpid()}"
    connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    try:
        yield
    finally:
        connection.creation.destroy_test_db(str(real), verbosity=0)


@contextmanager
def shared_database() -> Iterator[None]:
    """The same where other processes reach it too: SQLite's lies in a file, with the settings it is run with."""
    with tempfile.TemporaryDirectory() as folder:
        told = connection.settings_dict["TEST"]
        before = told["NAME"]
        if connection.vendor == "sqlite":
            told["NAME"] = str(Path(folder) / "bench.sqlite3")
        try:
            with scratch_database():
                yield
        finally:
            told["NAME"] = before
