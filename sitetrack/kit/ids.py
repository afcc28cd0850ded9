"""Identifiers: UUID version 7 (RFC 9562), so that ids made later sort later."""

import uuid

import uuid6


def new_id() -> uuid.UUID:
    """A new UUID version 7."""
    return uuid.UUID(int=uuid6.uuid7().int)
