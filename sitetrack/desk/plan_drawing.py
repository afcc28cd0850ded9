"""A sequence plan as a drawing: a box for each stage, a line for each wait, work running down the sheet.

Shape says everything. Square corners are work, cut corners a check. A heavy bar under a box is a hold point: nothing
passes it unsigned. A dashed outline stands only at some openings, and says at which. The words come out escaped.
"""

from collections.abc import Callable, Sequence
from html import escape
from textwrap import wrap

from django.utils.translation import gettext as _

from openings.sequence.stage import Kind, Stage
from sitetrack.desk.plan_layout import BOX_HEIGHT, BOX_WIDTH, Box, Layout, Line, lay_out
from sitetrack.desk.plan_words import MARKS, condition_words, said
from sitetrack.desk.words import word

CUT = 11
LINE = 15
LETTERS = 31  # of a title's line; narrow letters only make it shorter
TITLE_LINES = 2


def draw_plan(stages: Sequence[Stage], address: Callable[[str], str] | None, *, chosen: str, label: str) -> str:
    """The drawing as SVG; `address` leads from a stage's code to its form, None where there is none."""
    layout = lay_out(stages)
    width, height = f"{layout.width:.0f}", f"{layout.height:.0f}"
    size = f'width="{width}" height="{height}" viewBox="0 0 {width} {height}" xmlns="http://www.w3.org/2000/svg"'
    parts = [
        f'<svg class="sequence" role="group" aria-label="{escape(label)}" {size}>',
        *_grid(layout),
        *(_line(line, chosen) for line in layout.lines),
        *(_box(box, address, chosen) for box in layout.boxes),
        "</svg>",
    ]
    return "".join(parts)


def _grid(layout: Layout) -> list[str]:
    """The rows, numbered in bubbles at the edge as a drawing's grid lines are."""
    drawn = []
    for number, top in layout.rows:
        y = top + BOX_HEIGHT / 2
        drawn.append(
            f'<g class="plan-row" aria-hidden="true"><path d="M28 {y:.0f}H{layout.width:.0f}"/>'
            f'<circle cx="16" cy="{y:.0f}" r="12"/><text x="16" y="{y + 4:.0f}">{number or "?"}</text></g>'
        )
    return drawn


def _line(line: Line, chosen: str) -> str:
    near = " plan-near" if chosen and chosen in (line.before, line.after) else ""
    path = "M" + "L".join(f"{x:.0f} {y:.0f}" for x, y in line.points)
    x, y = line.points[-1]
    arrow = f'<path class="plan-head" d="M{x:.0f} {y:.0f}l-4 -9h8z"/>' if line.ends else ""
    return f'<g class="plan-line{near}" aria-hidden="true"><path d="{path}"/>{arrow}</g>'


def _box(box: Box, address: Callable[[str], str] | None, chosen: str) -> str:
    stage = box.stage
    classes = ["plan-stage"]
    classes += ["plan-check"] if stage.kind is Kind.CHECK else []
    classes += ["plan-some"] if stage.applies_when else []
    classes += ["plan-chosen"] if stage.code == chosen else []
    inside = "".join([_outline(stage), _stop(stage), *_texts(stage)])
    place = f'<g class="{" ".join(classes)}" transform="translate({box.x:.0f} {box.y:.0f})">'
    if address is None:
        return f'{place}<g role="img" aria-label="{escape(_spoken(stage))}">{inside}</g></g>'
    current = ' aria-current="true"' if stage.code == chosen else ""
    href = escape(address(stage.code))
    return f'{place}<a href="{href}" aria-label="{escape(_spoken(stage))}"{current}>{inside}</a></g>'


def _outline(stage: Stage) -> str:
    w, h = BOX_WIDTH, BOX_HEIGHT
    if stage.kind is Kind.WORK:
        return f'<path class="plan-edge" d="M0 0H{w}V{h}H0Z"/>'
    return (
        f'<path class="plan-edge" d="M{CUT} 0H{w - CUT}L{w} {CUT}V{h - CUT}L{w - CUT} {h}H{CUT}L0 {h - CUT}V{CUT}Z"/>'
    )


def _stop(stage: Stage) -> str:
    return f'<path class="plan-stop" d="M-6 {BOX_HEIGHT + 4}H{BOX_WIDTH + 6}"/>' if stage.hold_point else ""


def _texts(stage: Stage) -> list[str]:
    title = wrap(said(stage.title), LETTERS, max_lines=TITLE_LINES, placeholder=" …")
    kind = _("check") if stage.kind is Kind.CHECK else _("work")
    under = _("hold point") if stage.hold_point else condition_words(stage.applies_when)
    texts = [
        f'<text class="plan-code" x="12" y="18">{escape(stage.code)}</text>',
        f'<text class="plan-kind" x="{BOX_WIDTH - 12}" y="18">{escape(kind)}</text>',
    ]
    texts += [f'<text x="12" y="{36 + LINE * n}">{escape(text)}</text>' for n, text in enumerate(title)]
    foot = " · ".join(filter(None, [word("trade", stage.trade.value), _short(under)]))
    return [*texts, f'<text class="plan-trade" x="12" y="{BOX_HEIGHT - 11}">{escape(foot)}</text>']


def _short(text: str) -> str:
    return text if len(text) <= LETTERS else text[: LETTERS - 1] + "…"


def _spoken(stage: Stage) -> str:
    """The whole of a box for whoever does not see it."""
    told = [said(stage.title), word("trade", stage.trade.value)]
    told += [_("check") if stage.kind is Kind.CHECK else _("work"), condition_words(stage.applies_when)]
    told += [_("hold point")] if stage.hold_point else []
    told += [_("waits for %(stages)s") % {"stages": ", ".join(stage.after)}] if stage.after else []
    told += [_("covers %(stages)s") % {"stages": ", ".join(stage.covers)}] if stage.covers else []
    return ", ".join(filter(None, [*told, *(str(MARKS[mark]) for mark in stage.marks)]))
