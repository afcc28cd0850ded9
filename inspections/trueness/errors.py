"""The one error of this core: something given cannot be used, and the field that gave it is named."""

from sitetrack.kit.lengths import LengthError


class ReadingError(ValueError):
    """A given value cannot be used: which field, what was read, what was expected, and a stable code.

    `field` is the path in the request, such as "readings.width_head" or "opening.height".
    """

    def __init__(self, field: str, read: str, expected: str, code: str = "reading-unusable") -> None:
        """Keep the pieces apart, so that the edge can answer field by field."""
        self.field = field
        self.read = read
        self.expected = expected
        self.code = code
        super().__init__(f"{field}: read {read!r}, expected {expected}.")


def at_field(field: str, error: LengthError) -> ReadingError:
    """Say of a length that could not be read which field it stood in."""
    return ReadingError(field, error.read, error.expected, error.code)


def shown(value: object, longest: int = 40) -> str:
    """Show what was read without ever printing more than `longest` characters of it."""
    if isinstance(value, str):
        return value if len(value) <= longest else value[:longest] + "…"
    if value is None or isinstance(value, bool | float):
        return repr(value)
    if isinstance(value, int) and abs(value) < 10**longest:
        return repr(value)
    return type(value).__name__
