"""Every sentence of the core that reads lengths is known to the translators, and says itself in Spanish."""

import ast
from pathlib import Path

import pytest
from django.utils import translation

from sitetrack.kit import lengths
from sitetrack.kit.length_words import EXPECTED, expected_words
from sitetrack.kit.lengths import LengthError, parse_length


def written_in_the_core() -> set[str]:
    """Texts given as what was expected: the second argument of the error, or the variable handed to it."""
    tree = ast.parse(Path(lengths.__file__).read_text(encoding="utf-8"))
    calls = [n for n in ast.walk(tree) if isinstance(n, ast.Call) and getattr(n.func, "id", "") == "LengthError"]
    named = [n for n in ast.walk(tree) if isinstance(n, ast.Assign) and getattr(n.targets[0], "id", "") == "expected"]
    texts = [call.args[1] for call in calls] + [assigned.value for assigned in named]
    return {text.value for text in texts if isinstance(text, ast.Constant)}


def test_the_list_is_what_the_core_says() -> None:
    assert set(EXPECTED) == written_in_the_core()


@pytest.mark.parametrize(
    "text", ["", "3'-", "3.5'-2", "3'-13", "36 17/16", "36 1/3", "36.5 1/2", "x", "1" * 50, "2000 m"]
)
def test_what_would_do_is_said_in_spanish(text: str) -> None:
    with pytest.raises(LengthError) as wrong:
        parse_length(text)
    assert expected_words(wrong.value) == wrong.value.expected
    with translation.override("es"):
        assert expected_words(wrong.value) != wrong.value.expected
