"""Reading a data base as of one moment, so that two readings of it can be compared."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction

POSTGRES_READS = "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"
SQLITE_MODE = "transaction_mode"  # of that engine's connections only


@contextmanager
def one_moment() -> Iterator[None]:
    """Everything read inside is as it was at the first reading; nothing may be written.

    Inside another transaction that one's rules stand: the level can't be changed once something was read. SQLite's
    transactions are set up to take the write lock at once, which would keep crews waiting; a reader needs none of it.
    """
    if connection.in_atomic_block:
        yield
        return
    usual = getattr(connection, SQLITE_MODE, None)
    if connection.vendor == "sqlite":
        setattr(connection, SQLITE_MODE, "DEFERRED")
    try:
        with transaction.atomic():
            if connection.vendor == "postgresql":
                with connection.cursor() as cursor:
                    cursor.execute(POSTGRES_READS)
            yield
    finally:
        if connection.vendor == "sqlite":
            setattr(connection, SQLITE_MODE, usual)
