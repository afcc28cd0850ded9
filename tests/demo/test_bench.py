"""`manage.py bench`: measures, tells, and leaves everything as it was."""

import json
import os
import statistics
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from openings.sequence.fold import fold
from openings.sequence.plan_document import read_plan
from openings.services.sites import SHIPPED_PLANS
from sitetrack.demo.bench.areas import AREAS, NAMED
from sitetrack.demo.bench.figures import Figure, ratio
from sitetrack.demo.bench.folding import ATTRIBUTES, facts_of_a_job


def bench(*asked: str) -> str:
    out = StringIO()
    call_command("bench", *asked, stdout=out)
    return out.getvalue()


def test_every_area_is_measured_in_a_data_base_of_its_own(tmp_path: Path) -> None:
    """In a process of its own, as it is run; the data folder holds nothing of it afterwards."""
    found = tmp_path / "figures.json"
    environment = {name: value for name, value in os.environ.items() if name not in {"DATABASE_URL", "REDIS_URL"}}
    done = subprocess.run(
        [sys.executable, "manage.py", "bench", "--quick", "--json", str(found)],
        cwd=settings.BASE_DIR,
        env=environment | {"SITETRACK_DATA": str(tmp_path / "data")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(found.read_text())
    assert set(told["areas"]) == set(AREAS) - set(NAMED)
    for figures in told["areas"].values():
        for figure in figures:
            assert 0 < figure["min"] <= figure["median"] <= figure["max"]
            assert figure["name"] in done.stdout
    assert told["machine"]["processors"] == os.cpu_count()
    left = {path.name for path in (tmp_path / "data").rglob("*") if path.is_file() and path.stat().st_size}
    assert left <= {"secret-key"}


def test_only_what_is_asked_for_is_measured() -> None:
    told = bench("verdict", "--quick")
    assert "verdict alone" in told
    assert "one more on" not in told


def test_an_area_that_is_not_there_is_named_with_those_that_are() -> None:
    with pytest.raises(CommandError, match=r"'speed'.*verdict"):
        bench("speed")


def test_a_model_that_is_not_there_is_named_before_anything_is_measured(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"--model.*nowhere\.ifc"):
        bench("intake", "--quick", "--model", str(tmp_path / "nowhere.ifc"))


def test_a_file_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="can't write"):
        bench("fold", "--quick", "--json", str(tmp_path / "nowhere" / "figures.json"))


def test_figures_are_those_of_a_general_library() -> None:
    samples = (3.0, 1.0, 2.0, 10.0)
    base, other = Figure("base", "ms", (2.0, 4.0)), Figure("other", "ms", samples, of="base")
    told = other.to_dict([base, other])
    assert (told["median"], told["min"], told["max"]) == (statistics.median(samples), 1.0, 10.0)
    assert told["ratio"] == pytest.approx(2.5 / 3)
    assert ratio(base, [base, other]) is None


@pytest.mark.parametrize("count", [20, 21, 200, 201])
def test_the_job_that_is_folded_is_an_honest_one(count: int) -> None:
    """Every fact counts: a fold that drops half of them as conflicts would be measured too fast."""
    plan = read_plan(json.loads((SHIPPED_PLANS / "steel_stud.json").read_text(encoding="utf-8")))
    facts = facts_of_a_job(plan, count)
    assert len({fact.id for fact in facts}) == count
    assert fold(plan, ATTRIBUTES, facts).conflicts == ()
