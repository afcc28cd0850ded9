"""Another server, given by its address, that stores the same rows: what pushes are measured beside, if one is there.

Any store that takes JSON over HTTP will do; it validates, judges, folds and seals nothing.
"""

import http.client
import json
from base64 import b64encode
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

# By kind: the body that so many rows are sent in.
KINDS: Mapping[str, Callable[[Sequence[Any]], Any]] = {
    "array": lambda rows: rows,  # a plain list of rows, as stores of tables take it
    "docs": lambda rows: {"docs": rows},  # a list under a name, as stores of documents take it
}


@dataclass(frozen=True, slots=True)
class Peer:
    """Where rows are posted to, and in which of `KINDS`."""

    url: str
    kind: str

    @property
    def name(self) -> str:
        """What it is called in the table: by its kind alone, for addresses don't belong into results."""
        return f"peer taking {self.kind}, storing only"

    def body(self, rows: Sequence[Any]) -> bytes:
        """So many rows as this kind of store takes them."""
        return json.dumps(KINDS[self.kind](rows), default=str).encode()

    def post_all(self, bodies: Sequence[bytes]) -> None:
        """Post one body after another over one line; raises RuntimeError for any answer but a good one."""
        to = urlsplit(self.url)
        kind = http.client.HTTPSConnection if to.scheme == "https" else http.client.HTTPConnection
        line = kind(to.hostname or "", to.port, timeout=600)
        path = to.path or "/"
        try:
            for body in bodies:
                line.request("POST", path + (f"?{to.query}" if to.query else ""), body, self._headers(to.username))
                answer = line.getresponse()
                told = answer.read()
                if not 200 <= answer.status < 300:
                    raise RuntimeError(f"the peer answered {answer.status} {told[:200].decode(errors='replace')}")
        finally:
            line.close()

    def _headers(self, user: str | None) -> dict[str, str]:
        headers = {"Content-Type": "application/json"}
        if user:
            told = b64encode(f"{user}:{urlsplit(self.url).password or ''}".encode()).decode()
            headers["Authorization"] = f"Basic {told}"
        return headers
