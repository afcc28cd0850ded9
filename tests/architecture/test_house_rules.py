"""The habits of the house, held by tests: sizes, names, no hidden imports, no assertions that assert nothing."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("sitetrack", "openings", "inspections")
MOST_LINES_OF_A_FILE = 400
MOST_LINES_OF_A_FUNCTION = 60
MOST_PARAMETERS = 8  # as the linter counts
ATTICS = {"utils", "helpers", "misc", "common"}
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "manage.py", "requirements.txt", "sitetrack", "openings", "inspections", "tests",
    "fixtures", "pyproject.toml", "LICENSE", "CHANGELOG.md",
}  # fmt: skip


def sources() -> Iterator[Path]:
    for package in PACKAGES:
        for path in (ROOT / package).rglob("*.py"):
            if "migrations" not in path.parts:
                yield path


def name(path: Path) -> str:
    return str(path.relative_to(ROOT))


def functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))


@pytest.mark.parametrize("path", sorted(sources()), ids=name)
def test_file_and_functions_are_of_readable_size(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    if "# longer because:" not in text:
        assert len(text.splitlines()) <= MOST_LINES_OF_A_FILE, f"{name(path)}: split it by idea, or write why above"
    for function in functions(ast.parse(text)):
        length = (function.end_lineno or function.lineno) - function.lineno + 1
        assert length <= MOST_LINES_OF_A_FUNCTION, f"{name(path)}: {function.name} has {length} lines"


@pytest.mark.parametrize("path", sorted(sources()), ids=name)
def test_no_import_hides_inside_a_function(path: Path) -> None:
    for function in functions(ast.parse(path.read_text(encoding="utf-8"))):
        hidden = [n.lineno for n in ast.walk(function) if isinstance(n, ast.Import | ast.ImportFrom)]
        assert not hidden, f"{name(path)}: {function.name} imports at line {hidden[0]}; a layer broken in secret"


def test_no_attic() -> None:
    attics = [name(path) for path in sources() if path.stem in ATTICS or ATTICS & set(path.parts)]
    assert attics == []


def test_top_level_holds_only_what_it_may() -> None:
    ignored = {".git", "__pycache__"}
    found = {p.name for p in ROOT.iterdir() if not p.name.startswith(".") and p.name not in ignored}
    assert found <= TOP_LEVEL, found - TOP_LEVEL


def test_query_counts_are_pinned_by_a_context_that_asserts() -> None:
    """`assertNumQueries(...)` or its fixture without `with` or `as` asserts nothing."""
    bare = re.compile(r"^\s*(self\.)?(assertNumQueries|django_assert_(max_)?num_queries)\(")
    found = [
        f"{name(path)}:{number}"
        for path in (ROOT / "tests").rglob("test_*.py")
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if bare.match(line)
    ]
    assert found == []


def test_app_packages_import_nothing_when_a_core_is_imported() -> None:
    """Importing a pure core runs the package's __init__ first; it must stay empty."""
    for package in ("openings", "openings/sequence", "inspections", "inspections/trueness", "inspections/standards",
                    "sitetrack", "sitetrack/kit"):  # fmt: skip
        assert (ROOT / package / "__init__.py").read_text(encoding="utf-8").strip() == "", package


def test_clock_is_read_in_one_module() -> None:
    reads = re.compile(r"\b(datetime\.now|utcnow|timezone\.now|time\.time)\(")
    readers = [name(p) for p in sources() if reads.search(p.read_text(encoding="utf-8"))]
    assert readers == ["sitetrack/kit/clock.py"]
