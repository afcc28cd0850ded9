"""What the server counts as it works, in the form that monitoring reads.

Each process counts for itself. Where several serve, PROMETHEUS_MULTIPROC_DIR names a folder (a new one at each start)
in which the library adds them up.
"""

from prometheus_client import Counter, Histogram

REQUESTS = Histogram(
    "sitetrack_request_seconds",
    "Time from a request's arrival to its answer, by route, not by address: an address may name a person or opening.",
    ["route", "method", "status"],
    buckets=(0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30),
)
PUSHED = Counter("sitetrack_push_items", "Check-ins sent, by what became of each.", ["outcome"])
PULLED = Counter("sitetrack_pull_changes", "Changes handed out to phones and programs.")
PULL_RESETS = Counter("sitetrack_pull_resets", "Readers told to start over.")
