"""What goes wrong, in words a user can act on. How it is answered over HTTP is `sitetrack.kit.answers`' business.

One small hierarchy. A class has a stable `code` (clients may rely on it), a status and a title; an instance adds the
sentence for this occurrence and, for bad input, one `FieldError` a field.
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any, ClassVar

PROBLEM_JSON = "application/problem+json"
TYPE_PREFIX = "/problems/"


@dataclass(frozen=True, slots=True)
class FieldError:
    """One field that cannot be taken: where, what was read, what was expected, an example that works."""

    field: str
    detail: str
    read: str = ""
    expected: str = ""
    example: str = ""


class Problem(Exception):  # noqa: N818 - it is the trade word of RFC 9457
    """Base of everything this project refuses on purpose."""

    code: ClassVar[str] = "problem"
    status: ClassVar[int] = 400
    title: ClassVar[str] = "This can't be done"

    def __init__(self, detail: str, *, errors: Iterable[FieldError] = (), **more: Any) -> None:
        super().__init__(detail)
        self.detail = detail
        self.errors = tuple(errors)
        self.more = more

    def as_dict(self) -> dict[str, Any]:
        """The problem details object of RFC 9457."""
        return problem_details(
            self.code, self.title, self.status, self.detail, [asdict(e) for e in self.errors], **self.more
        )


class BadInput(Problem):
    code, status, title = "bad-input", 422, "Something given can't be taken"


class Forbidden(Problem):
    code, status, title = "forbidden", 403, "Not yours to do"


class NotFound(Problem):
    code, status, title = "not-found", 404, "Not found"


class Conflict(Problem):
    code, status, title = "conflict", 409, "Changed meanwhile"


class ContentDiffers(Conflict):
    code, title = "content-differs", "The same id came before with other content"


class Precondition(Problem):
    code, status, title = "changed-since-read", 412, "Changed since you read it"


class PreconditionRequired(Problem):
    code, status, title = "if-match-missing", 428, "Say which version you change"


class TooLarge(Problem):
    code, status, title = "too-large", 413, "Too large"


class Away(Problem):
    code, status, title = "try-again", 503, "Not just now"

    def __init__(self) -> None:
        super().__init__(
            "The server can't reach its data base just now. Send it again: what it took already counts once."
        )


def problem_details(
    code: str, title: str, status: int, detail: str, errors: list[dict[str, Any]] | None = None, **more: Any
) -> dict[str, Any]:
    """One RFC 9457 object; `errors` is an extension member listing the fields."""
    body: dict[str, Any] = {"type": TYPE_PREFIX + code, "title": title, "status": status, "detail": detail, **more}
    if errors:
        body["errors"] = errors
    return body
