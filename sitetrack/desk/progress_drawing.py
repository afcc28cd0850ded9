"""Pictures of sheet F-12 as SVG, drawn as a shop drawing is: ruled, ticked and hatched. Words come out escaped."""

from collections.abc import Sequence
from datetime import date
from html import escape

from django.utils.translation import gettext as _

from sitetrack.desk.progress_curve import Curve, CurvePoint
from sitetrack.kit.day_words import day_words

WIDTH, HEIGHT = 400, 250
LEFT, RIGHT, TOP, FOOT = 40, 392, 26, 218
MOST_DATES = 5
NEAR = 62  # closer than this, two dates run into each other

BARS = 12
BAR, BAR_STEP, BAR_HIGH, BAR_FOOT = 20, 30, 44, 60
HATCH = (
    '<defs><pattern id="band-hatch" width="5" height="5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path class="curve-hatch" d="M0 0V5"/></pattern></defs>'
)


def draw_curve(curve: Curve, label: str) -> str:
    """Planned dashed, done in a full line, the band of the forecast hatched with its middle dotted."""
    ground = _Ground(curve.points)
    done = [(point, point.done) for point in curve.points if point.done is not None]
    planned = [(point, point.planned) for point in curve.points if point.planned is not None]
    middle = [(point, point.median) for point in curve.points if point.median is not None]
    parts = [
        f'<svg class="curve" role="img" aria-label="{escape(label)}" viewBox="0 0 {WIDTH} {HEIGHT}">',
        # An address in a style sheet would be looked for in that file, so the hatch is named here.
        HATCH,
        *ground.grid(),
        ground.band(),
        ground.line("curve-planned", planned),
        ground.line("curve-median", middle),
        ground.line("curve-done", done),
        ground.standing(done),
        "</svg>",
    ]
    return "".join(parts)


class _Ground:
    """Where a day and a share lie on the picture."""

    def __init__(self, points: Sequence[CurvePoint]) -> None:
        self.points = points
        self.first, self.days = points[0].on, max(1, (points[-1].on - points[0].on).days)

    def at(self, on: date, share: float) -> tuple[float, float]:
        return (
            LEFT + (on - self.first).days / self.days * (RIGHT - LEFT),
            FOOT - share / 100 * (FOOT - TOP),
        )

    def grid(self) -> list[str]:
        """A line each quarter, a tick with its date some weeks apart."""
        drawn = []
        for share in (0, 25, 50, 75, 100):
            _x, y = self.at(self.first, share)
            edge = " curve-edge" if share in (0, 100) else ""
            drawn.append(f'<path class="curve-grid{edge}" d="M{LEFT} {y:.1f}H{RIGHT}"/>')
            drawn.append(f'<text class="curve-word curve-end" x="{LEFT - 5}" y="{y + 4:.1f}">{share}</text>')
        drawn.append(f'<text class="curve-word curve-end" x="{LEFT - 5}" y="{TOP - 12}">%</text>')
        step = max(1, -(-(len(self.points) - 1) // (MOST_DATES - 1)))
        taken = float(RIGHT + NEAR)
        for point in reversed(self.points[::step]):
            x, y = self.at(point.on, 0)
            drawn.append(f'<path class="curve-tick" d="M{x - 3:.1f} {y + 3:.1f}l6 -6M{x:.1f} {y:.1f}v5"/>')
            if taken - x >= NEAR:
                place = "curve-end" if x > RIGHT - NEAR / 2 else "curve-middle"
                drawn.append(f'<text class="curve-word {place}" x="{x:.1f}" y="{y + 18:.1f}">{_day(point.on)}</text>')
                taken = x
        return drawn

    def band(self) -> str:
        """Between a tenth and nine tenths of the runs."""
        known = [point for point in self.points if point.low is not None and point.high is not None]
        if len(known) < 2:
            return ""
        upper = [self.at(point.on, point.high or 0) for point in known]
        lower = [self.at(point.on, point.low or 0) for point in reversed(known)]
        return f'<path class="curve-band" fill="url(#band-hatch)" d="{_path([*upper, *lower])}Z"/>'

    def line(self, name: str, values: Sequence[tuple[CurvePoint, float]]) -> str:
        """A line through what is known."""
        return f'<path class="{name}" d="{_path([self.at(p.on, share) for p, share in values])}"/>' if values else ""

    def standing(self, done: Sequence[tuple[CurvePoint, float]]) -> str:
        """The section line of the day it stands on, with the share done beside the end of its line."""
        point, share = done[-1]
        x, y = self.at(point.on, share)
        # Curves rise: left of the line there is room above it, right of it below.
        side, drop, place = (-7, -6, "curve-end") if x > (LEFT + RIGHT) / 2 else (7, 14, "curve-start")
        return (
            f'<path class="curve-section" d="M{x:.1f} {FOOT}V{TOP - 8}"/>'
            f'<path class="curve-head" d="M{x:.1f} {TOP - 4}l-4 -8h8z"/>'
            f'<circle class="curve-spot" cx="{x:.1f}" cy="{y:.1f}" r="3.5"/>'
            f'<text class="curve-word curve-strong {place}" x="{x + side:.1f}" y="{y + drop:.1f}">{share:.0f} %</text>'
        )


def draw_bars(counts: Sequence[int], most: int, label: str) -> str:
    """What was finished week by week, on the scale of `most`; the number stands on each bar."""
    width = BARS * BAR_STEP + 8
    parts = [
        f'<svg class="bars" role="img" aria-label="{escape(label)}" viewBox="0 0 {width} {BAR_FOOT + 5}">',
        f'<path class="curve-edge" d="M2 {BAR_FOOT}H{width - 2}"/>',
    ]
    for place, count in enumerate(counts):
        x = 6 + place * BAR_STEP
        high = count / most * BAR_HIGH if most else 0
        parts.append(f'<path class="curve-tick" d="M{x + BAR / 2 - 2.5:.1f} {BAR_FOOT + 2.5}l5 -5"/>')
        if count:
            parts.append(f'<path class="bar" d="M{x} {BAR_FOOT}v-{high:.1f}h{BAR}v{high:.1f}"/>')
        word = str(count) if count else "–"
        parts.append(
            f'<text class="curve-word curve-middle" x="{x + BAR / 2}" y="{BAR_FOOT - high - 4:.1f}">{word}</text>'
        )
    return "".join([*parts, "</svg>"])


def curve_label(curve: Curve, name: str) -> str:
    """What the picture shows, for those who don't see it."""
    said = [_("Progress of %(part)s.") % {"part": name}]
    now = curve.now
    said.append(_("Done by %(day)s: %(share)d %%.") % {"day": _day(now.on), "share": now.done or 0})
    if now.planned is not None:
        said.append(_("Planned by then: %(share)d %%.") % {"share": now.planned})
    last = curve.points[-1]
    ahead = [point for point in curve.points if point.median is not None and point.on > now.on]
    if ahead:
        last = ahead[-1]
        said.append(
            _("Forecast for %(day)s: %(low)d to %(high)d %%.")
            % {"day": _day(last.on), "low": last.low or 0, "high": last.high or 0}
        )
    return " ".join(said)


def _path(spots: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in spots)


def _day(on: date) -> str:
    return escape(day_words(on, "j M y"))
