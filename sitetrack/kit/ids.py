"""Identifiers: UUID version 7 (RFC 9562), so that ids made later sort later."""

import uuid

import uuid6


def new_id() -> uuid.UUID:
    """A new UUID version 7."""
    return uuid.UUID(int=uuid6.uuid7().int)


def read_id(text: str) -> uuid.UUID | None:
    """An id out of an address; None for what is none, so that a page can leave it aside."""
    try:
        return uuid.UUID(text)
    except ValueError:
        return None
