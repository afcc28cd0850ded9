"""How a value is read by a person: codes as words, moments on the site's clock."""

from collections.abc import Mapping
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sitetrack.reports.tables import Column, Kind, Plain

Shown = str | int | float | datetime | date | None


class Shower:
    """Shows values of one snapshot in its language and its site's zone."""

    def __init__(self, words: Mapping[str, Mapping[str, str]], time_zone: str) -> None:
        self._words = words
        self._zone = ZoneInfo(time_zone)

    def show(self, column: Column, value: Plain) -> Shown:
        """The value as text, number, day, or moment with the site's offset; None stays None."""
        if value is None:
            return None
        if column.kind is Kind.FLAG:
            return self._words[column.words]["yes" if value else "no"]
        if isinstance(value, str):
            if column.kind is Kind.WORD:
                return self._words[column.words].get(value, value)
            if column.kind is Kind.MOMENT:
                return datetime.fromisoformat(value).astimezone(self._zone)
            if column.kind is Kind.DATE:
                return date.fromisoformat(value)
        return value
