"""The columns of a floor's list: what each is called, what putting in its order asks for, and which way it is now."""

from dataclasses import dataclass
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

# Heading, the order it asks for, and the opposite order where there is one.
COLUMNS = (
    (_("Opening"), "number", "-number"),
    (_("Next stage"), "stage", ""),
    (_("Done"), "-done", "done"),
    (_("Trouble"), "trouble", ""),
    (_("From, to"), "room", ""),
    (_("Rating"), "rating", "-rating"),
)


@dataclass(frozen=True, slots=True)
class Column:
    """A heading: the query its link asks with, and its `aria-sort`, empty where the list is not in its order."""

    name: Any
    query: str
    sorted: str


def sorted_columns(asked: QueryDict) -> tuple[Column, ...]:
    """The headings as links; the one the list is in order of asks for the opposite order."""
    return tuple(_column(asked, *column) for column in COLUMNS)


def _column(asked: QueryDict, name: Any, order: str, opposite: str) -> Column:
    now = asked.get("order", "walk")
    wanted = opposite if now == order and opposite else order
    query = asked.copy()
    query["order"] = wanted
    query.pop("page", None)
    falling = {order: order.startswith("-"), opposite: opposite.startswith("-")}
    state = "" if now not in falling or not now else "descending" if falling[now] else "ascending"
    return Column(name, f"?{query.urlencode()}", state)
