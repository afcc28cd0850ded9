"""An empty data base for as long as something is measured; the real one is not touched."""

import os
from collections.abc import Iterator
from contextlib import contextmanager

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
