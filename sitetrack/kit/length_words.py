"""Why a length can't be used, in the reader's language. The core that reads lengths knows English and no framework."""

from django.utils.translation import gettext, gettext_noop

from sitetrack.kit.lengths import LengthError

# Every sentence of the core; a test holds this list to what is written there.
EXPECTED = (
    gettext_noop("a length of at most 1000 m"),
    gettext_noop("more than zero, such as %(examples)s"),
    gettext_noop("from %(low)s to %(high)s (%(low_mm)s to %(high_mm)s)"),
    gettext_noop("at most %(most)d characters, such as %(examples)s"),
    gettext_noop("a length such as %(examples)s"),
    gettext_noop("text or a number such as %(examples)s"),
    gettext_noop("a finite length of at most 1000 m"),
    gettext_noop("one length in one kind of unit, such as %(examples)s"),
    gettext_noop('an inch mark after a fraction, such as 36 1/16"'),
    gettext_noop("a decimal or a fraction, not both"),
    gettext_noop("inches after the dash, such as 3'-0\""),
    gettext_noop("whole feet beside inches, such as 3'-6\""),
    gettext_noop("less than 12 inches beside feet, such as 3'-11 1/2\""),
    gettext_noop("a fraction in halves, quarters, 8ths, 16ths, 32nds or 64ths"),
    gettext_noop("a fraction of less than one inch beside whole inches"),
)


def expected_words(error: LengthError) -> str:
    """What would have done instead."""
    return gettext(error.template) % error.values


def length_refusal(error: LengthError) -> str:
    """What was read and what would have done, in one sentence."""
    return gettext("“%(read)s” cannot be used as a length here: expected %(expected)s.") % {
        "read": error.read,
        "expected": expected_words(error),
    }
