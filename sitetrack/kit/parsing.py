"""Request bodies under a bound, before any work is done on them."""

from typing import Any, ClassVar

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

from sitetrack.kit.problems import TooLarge


class BoundedJSONParser(JSONParser):
    """JSON of at most the view's `most_body_bytes`, a quarter of a megabyte unless it says otherwise."""

    most_bytes: ClassVar[int] = 256_000

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Any = None) -> Any:
        """Parse the body; raises `TooLarge` by its declared length, which the server holds it to."""
        context = parser_context or {}
        request = context.get("request")
        most = getattr(context.get("view"), "most_body_bytes", self.most_bytes)
        length = int(request.META.get("CONTENT_LENGTH") or 0) if request else 0
        if length > most:
            raise TooLarge(f"The body has {length:,} bytes; at most {most:,} are taken here. Send it in parts.")
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError:
            raise ParseError("JSON parse error - nested too deeply") from None
