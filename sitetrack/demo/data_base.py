"""What is asked of the data base itself: its size, and to look at what has just been written."""

from django.db import connection

SIZE = {
    "postgresql": "SELECT pg_database_size(current_database())",
    "sqlite": "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()",
}


def take_stock() -> None:
    """Let PostgreSQL look at what was written: its planner would know nothing of rows as young as these."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def size_on_disk() -> int | None:
    """Bytes of the data base, where it says so at once."""
    asked = SIZE.get(connection.vendor)
    if asked is None:
        return None
    with connection.cursor() as cursor:
        cursor.execute(asked)
        return int(cursor.fetchone()[0])
