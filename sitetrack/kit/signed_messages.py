"""Signing messages as the open Standard Webhooks scheme does: HMAC-SHA256 over id, time and body.

From memory; the tests hold it against the scheme's own library for those who receive.
"""

import base64
import hashlib
import hmac
from collections.abc import Iterable
from datetime import datetime

PREFIX = "whsec_"


def shown_secret(secret: bytes) -> str:
    """A secret as those who receive keep it."""
    return PREFIX + base64.b64encode(secret).decode()


def signed_headers(*, id_: str, at: datetime, body: bytes, secrets: Iterable[bytes]) -> dict[str, str]:
    """The headers of one message; with a signature for each secret that is valid, so that one can follow another."""
    seconds = str(int(at.timestamp()))
    signed = f"{id_}.{seconds}.".encode() + body
    signatures = [base64.b64encode(hmac.digest(secret, signed, hashlib.sha256)).decode() for secret in secrets]
    return {
        "webhook-id": id_,
        "webhook-timestamp": seconds,
        "webhook-signature": " ".join(f"v1,{signature}" for signature in signatures),
    }
