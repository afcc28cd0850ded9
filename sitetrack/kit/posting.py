"""Posting to an address that somebody typed, without being led into our own network.

The name is resolved once, every address it gives must be public, and the connection goes to the address that was
checked: a name that answers differently the second time is not asked a second time. TLS still proves the name. No
redirect is followed, no proxy is used, and time and size are bounded. Hosts named in settings.WEBHOOK_ALLOW_PRIVATE
may be private, and plain.
"""

import ipaddress
import socket
import ssl
import time
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from threading import Timer
from urllib.parse import SplitResult, urlsplit

from django.conf import settings
from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.exceptions import HTTPError

CONNECT_SECONDS = 5.0
RESOLVE_SECONDS = 5.0
WHOLE_SECONDS = 15.0
MOST_ANSWER_BYTES = 16_384
LONGEST_URL = 500
NAT64 = ipaddress.ip_network("64:ff9b::/96")  # RFC 6052, from memory: the last 32 bits are an IPv4 address
Address = ipaddress.IPv4Address | ipaddress.IPv6Address


class NotPosted(Exception):  # noqa: N818 - it says what happened
    """Why nothing was posted, or no answer came; the words are for whoever set the address."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What was answered, and in how long; `retry_after` as the field said it, empty where there was none."""

    status: int
    took_ms: int
    retry_after: str = ""


def checked_url(url: str) -> SplitResult:
    """The parts of an address that may be posted to; raises `NotPosted`."""
    if len(url) > LONGEST_URL or not url.isascii() or any(c.isspace() or ord(c) < 32 or c == "\\" for c in url):
        raise NotPosted("not an address of plain letters without blanks")
    try:
        parts = urlsplit(url)
        host, _port = parts.hostname, parts.port
    except ValueError as error:
        raise NotPosted("not an address") from error
    if not host or parts.username is not None or parts.password is not None or parts.fragment:
        raise NotPosted("an address needs a host, and neither a user nor a #")
    if parts.scheme != "https" and not (parts.scheme == "http" and may_be_private(host)):
        raise NotPosted("only https:// is posted to")
    return parts


def may_be_private(host: str) -> bool:
    """Whether whoever runs the server said that this host may be private and plain."""
    allowed = settings.WEBHOOK_ALLOW_PRIVATE
    return "1" in allowed or host.lower() in allowed


def is_public(address: Address) -> bool:
    """Whether an address is one of the open net, and so is every IPv4 address wrapped in it."""
    if isinstance(address, ipaddress.IPv6Address):
        wrapped = [address.ipv4_mapped, address.sixtofour, *(address.teredo or ())]
        if address in NAT64 or int(address) >> 32 == 0:
            wrapped.append(ipaddress.IPv4Address(int(address) & 0xFFFFFFFF))
        if any(inner is not None and not is_public(inner) for inner in wrapped) or address.scope_id:
            return False
    return address.is_global and not address.is_multicast and not address.is_reserved


def resolved(host: str, port: int, *, within: float = RESOLVE_SECONDS) -> str:
    """One address of the host, all of which were checked; raises `NotPosted`."""
    pool = ThreadPoolExecutor(max_workers=1)  # a resolver has no time limit of its own
    try:
        asked = pool.submit(socket.getaddrinfo, host, port, type=socket.SOCK_STREAM)
        found = [str(row[4][0]) for row in asked.result(timeout=within)]
    except (OSError, UnicodeError) as error:
        raise NotPosted(f"{host} is not found") from error
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
    if not found:
        raise NotPosted(f"{host} is not found")
    if not may_be_private(host):
        for text in found:
            if not is_public(ipaddress.ip_address(text)):
                raise NotPosted(f"{host} leads to an address that is not public")
    return found[0]


def post(*, url: str, body: bytes, headers: Mapping[str, str], within: float | None = None) -> Answer:
    """Post once, in so many seconds at most; gives the answer whatever it is, raises `NotPosted` where none came."""
    parts, began = checked_url(url), time.monotonic()
    whole = WHOLE_SECONDS if within is None else within
    host, secure = str(parts.hostname), parts.scheme == "https"
    port = parts.port or (443 if secure else 80)
    address = resolved(host, port, within=min(RESOLVE_SECONDS, whole))
    left = max(whole - (time.monotonic() - began), 0.1)
    patience = min(CONNECT_SECONDS, left)
    connection: HTTPConnection
    if secure:
        connection = HTTPSConnection(
            address, port, timeout=patience, ssl_context=ssl.create_default_context(),
            server_hostname=host, assert_hostname=host,
        )  # fmt: skip
    else:
        connection = HTTPConnection(address, port, timeout=patience)
    target = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    named = f"[{host}]" if ":" in host else host
    watch = Timer(left, lambda: _break_off(connection))
    watch.daemon = True
    watch.start()
    try:
        connection.request(
            "POST", target, body=body, headers={**headers, "Host": named if not parts.port else f"{named}:{port}"},
            preload_content=False,
        )  # fmt: skip
        answer = connection.getresponse()
        answer.read(MOST_ANSWER_BYTES)
        took = int((time.monotonic() - began) * 1000)
        return Answer(answer.status, took, answer.headers.get("Retry-After", "")[:100])
    except (HTTPError, OSError, ValueError, AttributeError) as error:
        # AttributeError: the socket was taken away under the reader when its time was over.
        late = time.monotonic() - began >= whole
        said = "no answer in time" if late or isinstance(error, TimeoutError) else type(error).__name__
        raise NotPosted(f"{host}: {said}") from error
    finally:
        watch.cancel()
        connection.close()


def _break_off(connection: HTTPConnection) -> None:
    """End an exchange that goes on for too long, however slowly it trickles."""
    sock = connection.sock
    if sock is not None:
        with suppress(OSError):
            sock.shutdown(socket.SHUT_RDWR)
