"""What can be measured. To add an area: a function from `quick` to figures, in a module beside this, and its line."""

from collections.abc import Callable, Mapping

from sitetrack.demo.bench.asking_here import measure_here
from sitetrack.demo.bench.asking_ready import measure_readiness
from sitetrack.demo.bench.drawing_pages import measure_pages
from sitetrack.demo.bench.figures import Figure
from sitetrack.demo.bench.folding import measure_fold
from sitetrack.demo.bench.forecasting import measure_forecast
from sitetrack.demo.bench.pulling import measure_pull
from sitetrack.demo.bench.pushing import measure_push
from sitetrack.demo.bench.rejudging import measure_rejudge
from sitetrack.demo.bench.reporting import measure_report
from sitetrack.demo.bench.soaking import measure_soak
from sitetrack.demo.bench.taking_schedules_in import measure_intake
from sitetrack.demo.bench.verdict import measure_verdict

AREAS: Mapping[str, Callable[..., list[Figure]]] = {
    "verdict": measure_verdict,
    "fold": measure_fold,
    "rejudge": measure_rejudge,
    "push": measure_push,
    "pull": measure_pull,
    "forecast": measure_forecast,
    "pages": measure_pages,
    "readiness": measure_readiness,
    "report": measure_report,
    "intake": measure_intake,
    "soak": measure_soak,
    "here": measure_here,
}
# Only where it is named: it asks the data base that is there.
NAMED = ("here",)
