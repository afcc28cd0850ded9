"""The language of whoever reads what is being made now."""

from django.utils.translation import get_language


def readers_language() -> str:
    """Its two letters; English where nobody has said."""
    return (get_language() or "en")[:2]
