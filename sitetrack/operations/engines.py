"""Copying a data base whole, at one moment, while others write to it; and putting such a copy in its place."""

import os
import shutil
import sqlite3
import subprocess
from abc import ABC, abstractmethod
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.db import connection, transaction

from sitetrack.kit.problems import Problem

Counts = dict[str, int]
SECONDS = 4 * 3600  # a copy that takes longer than this is stuck


class CopyFailed(Problem):
    code, status, title = "copy-failed", 500, "The data base was not copied"


class Engine(ABC):
    """One kind of data base: `name` is told in the backup, so that it is not restored into another kind."""

    name: str
    member: str

    @abstractmethod
    def copy_to(self, path: Path) -> Counts:
        """Write a copy as of one moment; how many rows each table has in it. Raises `CopyFailed`."""

    @abstractmethod
    def restore_from(self, path: Path) -> None:
        """Put a copy in the place of what is there, all of it or nothing. Raises `CopyFailed`."""


class Sqlite(Engine):
    """By the library's own online backup, which sees one moment and makes no writer wait for long."""

    name, member = "sqlite", "database.sqlite3"

    def copy_to(self, path: Path) -> Counts:
        """In one step: copied in several, it would start over each time that somebody writes."""
        connection.ensure_connection()
        copy = sqlite3.connect(path)
        try:
            connection.connection.backup(copy)
            names = [name for (name,) in copy.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
            return {name: copy.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in names}  # noqa: S608
        except sqlite3.Error as error:
            raise CopyFailed(f"SQLite said: {error}.") from error
        finally:
            copy.close()

    def restore_from(self, path: Path) -> None:
        """Moved into place in one step; what the old file had not yet taken in from its log goes with it."""
        place = Path(connection.settings_dict["NAME"])
        connection.close()
        arriving = place.with_name(place.name + ".arriving")
        try:
            shutil.copyfile(path, arriving)
            for log in ("-wal", "-shm"):
                place.with_name(place.name + log).unlink(missing_ok=True)
            arriving.replace(place)
        except OSError as error:
            arriving.unlink(missing_ok=True)
            raise CopyFailed(f"{place}: {error.strerror}. Nothing was replaced.") from error


class Postgres(Engine):
    """By pg_dump and pg_restore, of the server's own release or a later one."""

    name, member = "postgresql", "database.pgdump"

    def copy_to(self, path: Path) -> Counts:
        """The dump reads the same snapshot as the counting does."""
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            cursor.execute("SELECT pg_export_snapshot()")
            (snapshot,) = cursor.fetchone()
            _run("pg_dump", "--format=custom", "--no-owner", f"--snapshot={snapshot}", f"--file={path}")
            counts = {}
            for name in connection.introspection.table_names(cursor):
                cursor.execute(f"SELECT count(*) FROM {connection.ops.quote_name(name)}")  # noqa: S608
                counts[name] = cursor.fetchone()[0]
        return counts

    def restore_from(self, path: Path) -> None:
        """In one transaction: it fails whole, and readers see the old or the new."""
        connection.close()
        _run(
            "pg_restore",
            "--clean",
            "--if-exists",
            "--no-owner",
            "--single-transaction",
            f"--dbname={_name()}",
            str(path),
        )


def engine() -> Engine:
    """The one that the settings name."""
    return Postgres() if connection.vendor == "postgresql" else Sqlite()


def _name() -> str:
    return str(connection.settings_dict["NAME"])


def _run(program: str, *arguments: str) -> None:
    """Run one of the data base's own programs; where and as whom is told in its environment, which no list shows."""
    found = shutil.which(program)
    if not found:
        raise CopyFailed(f"{program} is not on this machine. Install the data base's client (postgresql-client).")
    reach = {**os.environ, **_reach()}
    done = subprocess.run(  # noqa: S603 (a fixed program, no shell, arguments of ours)
        [found, *arguments], env=reach, capture_output=True, text=True, check=False, timeout=SECONDS
    )
    if done.returncode:
        raise CopyFailed(f"{program} said: {done.stderr.strip()[-500:]}")


def _reach() -> Mapping[str, str]:
    settings: dict[str, Any] = connection.settings_dict
    reach = {"PGDATABASE": "NAME", "PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    return {variable: str(settings[key]) for variable, key in reach.items() if settings.get(key)}
