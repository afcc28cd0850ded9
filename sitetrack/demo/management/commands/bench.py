"""`manage.py bench`: how long things take on this machine. Measures, and never fails on a time."""

import json
import os
import platform
import sys
from argparse import ArgumentParser
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from sitetrack.demo.bench.areas import AREAS, NAMED
from sitetrack.demo.bench.figures import Figure, ratio
from sitetrack.demo.bench.peers import KINDS, Peer
from sitetrack.demo.bench.soaking import MINUTES
from sitetrack.kit.collector import settle_collector

ENGINES = ("sqlite", "postgres")


class Command(BaseCommand):
    """Runs the areas asked for, all of them unless some are named."""

    help = "Measure how fast this machine does what matters; data it needs goes into a data base of its own."
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("areas", nargs="*", metavar="AREA", help="any of: " + ", ".join(AREAS))
        parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures there as well")
        parser.add_argument("--minutes", type=float, default=MINUTES, metavar="N", help="how long `soak` goes on")
        parser.add_argument("--quick", action="store_true", help="measure less, to see that it works")
        parser.add_argument("--engine", choices=ENGINES, help="which data base; postgres is the one of DATABASE_URL")
        parser.add_argument("--peer", metavar="URL", help="another server that stores the same rows, beside `push`")
        parser.add_argument("--peer-kind", choices=KINDS, default="array", help="how the peer takes its rows")
        parser.add_argument("--model", type=Path, metavar="FILE", help="an IFC model for intake, else one is made")

    def handle(self, *args: Any, areas: list[str], quick: bool, model: Path | None, **options: Any) -> None:
        _choose(options["engine"])
        peer = Peer(options["peer"], options["peer_kind"]) if options["peer"] else None
        unknown = [name for name in areas if name not in AREAS]
        if unknown:
            raise CommandError(f"no area {', '.join(map(repr, unknown))}; there are: {', '.join(AREAS)}.")
        if settings.PRODUCTION:
            raise CommandError(
                "Not where SITETRACK_PRODUCTION is set: measuring would take the machine from its users."
            )
        if model and not model.is_file():
            raise CommandError(f"--model: there is no file {str(model)!r}.")
        measure = dict(AREAS) | {
            "intake": partial(AREAS["intake"], model=model),
            "push": partial(AREAS["push"], peer=peer),
            "soak": partial(AREAS["soak"], minutes=options["minutes"]),
        }
        settle_collector()  # as in the processes that do this work
        figures: dict[str, list[Figure]] = {}
        for name in areas or [name for name in AREAS if name not in NAMED]:
            figures[name] = measure[name](quick=quick)
            self.stdout.write("\n".join(_table(name, figures[name])))
        if options["json"]:
            self._write(options["json"], {"machine": _machine(), "quick": quick, "areas": _plain(figures)})

    def _write(self, path: Path, found: dict[str, Any]) -> None:
        try:
            path.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")
        except OSError as error:
            raise CommandError(f"--json: can't write {str(path)!r}: {error.strerror or error}.") from error


def _choose(engine: str | None) -> None:
    """Go on with the data base asked for; settings are read once, so for another one this begins again without it."""
    if engine == "postgres" and connection.vendor != "postgresql":
        raise CommandError("--engine postgres: say which one by DATABASE_URL=postgres://USER@HOST:PORT/NAME.")
    if engine == "sqlite" and connection.vendor != "sqlite":
        environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
        os.execve(sys.executable, [sys.executable, *sys.argv], environment)  # noqa: S606 - ourselves


def _table(area: str, figures: Sequence[Figure]) -> Iterator[str]:
    wide = max(len(figure.name) for figure in figures)
    yield f"\n{area:<{wide + 2}}{'median':>12}{'min':>12}{'max':>12}  {'unit':<12}{'samples':>8}  ratio"
    for figure in figures:
        times = ratio(figure, figures)
        compared = f"{times:.2f} of {figure.of}" if times else ""
        numbers = "".join(f"{value:>12.3f}" for value in (figure.median, min(figure.samples), max(figure.samples)))
        yield f"  {figure.name:<{wide}}{numbers}  {figure.unit:<12}{len(figure.samples):>8}  {compared}".rstrip()


def _plain(figures: dict[str, list[Figure]]) -> dict[str, list[dict[str, Any]]]:
    return {name: [figure.to_dict(area) for figure in area] for name, area in figures.items()}


def _machine() -> dict[str, Any]:
    """What the figures hold for: they say nothing of another machine."""
    return {
        "python": platform.python_version(),
        "implementation": platform.python_implementation(),
        "system": platform.system(),
        "processor": platform.machine(),
        "processors": os.cpu_count(),
        "data_base": connection.vendor,
    }
