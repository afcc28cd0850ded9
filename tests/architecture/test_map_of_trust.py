"""The map in DEVELOPERS.md of what was claimed to the test that proves it: no test is named that isn't there."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
# `access/test_trail.py` or `tests/access/test_trail.py`, with or without the one test meant.
NAMED = re.compile(r"`(?:tests/)?((?:\w+/)*test_\w+\.py)(?:::(\w+))?")
RISKS = range(1, 11)


def named_tests() -> list[tuple[str, str]]:
    return sorted({(path, test) for path, test in NAMED.findall(DEVELOPERS)})


@pytest.mark.parametrize(("path", "test"), named_tests())
def test_a_test_that_is_named_is_there(path: str, test: str) -> None:
    file = ROOT / "tests" / path
    assert file.is_file(), f"DEVELOPERS.md names tests/{path}, which isn't there"
    if test:
        found = re.search(rf"^def {test}\(", file.read_text(encoding="utf-8"), re.MULTILINE)
        assert found, f"DEVELOPERS.md names {test}, which tests/{path} doesn't have"


@pytest.mark.parametrize("path", sorted(set(re.findall(r"`(tests/[\w/.]+)", DEVELOPERS))))
def test_a_file_or_folder_of_tests_that_is_named_is_there(path: str) -> None:
    assert (ROOT / path.rstrip(".")).exists(), f"DEVELOPERS.md names {path}, which isn't there"


@pytest.mark.parametrize("risk", RISKS)
def test_each_of_the_ten_risks_has_a_line_that_names_a_test(risk: int) -> None:
    lines = [line for line in DEVELOPERS.splitlines() if line.startswith(f"| API{risk} ")]
    assert len(lines) == 1
    assert NAMED.search(lines[0]), f"API{risk} names no test"
