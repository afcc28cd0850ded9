"""The frame drawn to scale, elevation and plan, from the pull side, with what was read exaggerated and labelled.

Everything is to scale but the deviations, which are drawn larger by one factor that the drawing states. The dashed
outline is the frame as scheduled, the heavy one as read. Where the hand puts the hinges on the right, seen from the
pull side, the drawing is mirrored; the words never are.
"""

from dataclasses import dataclass

from inspections.trueness.door_fit import DoorFit
from inspections.trueness.drawing_words import WORDS, Words
from inspections.trueness.opening import NominalOpening
from inspections.trueness.readings import Readings
from inspections.trueness.shape import FrameShape, frame_shape
from inspections.trueness.svg import Point, block, dimension, drawing, line, outline, text, warning
from inspections.trueness.verdict import Verdict
from sitetrack.kit.lengths import NM_PER_INCH, Length, UnitSystem, format_length

NOTHING_READ = Readings()

# Drawing units per inch of frame; a 3-0 x 7-0 stands 336 high.
PER_INCH = 4.0
FACE = 2.0
JAMB_DEPTH = 5.75
MARGIN = 140.0
PLAN_GAP = 70.0
LABEL_OFF = 28.0

# Deviations are drawn at most this many inches of frame large, by the greatest factor that keeps them so.
LARGEST_DRAWN = 4.0
# No more than sixteenfold: a deviation of 1/16 in, which passes, is then an inch and does not look crooked.
FACTORS = (16, 8, 4, 2, 1)


@dataclass(frozen=True, slots=True)
class Sheet:
    """What one drawing shows; everything but the opening may be absent."""

    opening: NominalOpening
    readings: Readings = NOTHING_READ
    number: str = ""
    hinges: tuple[Length, ...] = ()
    anchors: tuple[Length, ...] = ()
    spreaders: bool = True
    verdict: Verdict | None = None
    fit: DoorFit | None = None
    units: UnitSystem = "imperial"
    language: str = "en"


def draw_frame(sheet: Sheet) -> str:
    """Draw one frame as SVG text, ready to stand in a page or on paper."""
    shape = frame_shape(sheet.readings.lengths, sheet.opening)
    factor = exaggeration(shape, sheet.opening)
    words = WORDS.get(sheet.language, WORDS["en"])
    elevation = _Elevation(sheet, shape, factor, words)
    width = elevation.width * PER_INCH + 2 * MARGIN
    floor = MARGIN + (elevation.height + FACE) * PER_INCH
    height = floor + PLAN_GAP + JAMB_DEPTH * PER_INCH + MARGIN
    title = words.title.format(number=sheet.number) if sheet.number else words.untitled
    parts = [
        *elevation.marks(),
        *_plan(sheet, shape, factor, floor + PLAN_GAP, words),
        *_title_block(sheet, factor, width, height, words),
    ]
    return drawing((width, height), title, _description(sheet, factor, words), parts)


def exaggeration(shape: FrameShape, opening: NominalOpening) -> int:
    """The factor deviations are drawn by: the largest that keeps them within the drawing's room."""
    deviations = (
        shape.hinge_side, shape.strike_side, shape.hinge_face, shape.strike_face, shape.squareness, shape.twist,
        shape.width_floor - opening.width, shape.width_head - opening.width,
    )  # fmt: skip
    largest = max(abs(each.nm) for each in deviations) / NM_PER_INCH
    return next((factor for factor in FACTORS if largest * factor <= LARGEST_DRAWN), FACTORS[-1])


class _Elevation:
    """Marks of the elevation; x in inches from the hinge rabbet toward the strike, y in inches above the floor."""

    def __init__(self, sheet: Sheet, shape: FrameShape, factor: int, words: Words) -> None:
        self.sheet, self.shape, self.factor, self.words = sheet, shape, factor, words
        self.width = float(sheet.opening.width.inches)
        self.height = float(sheet.opening.height.inches)
        self.mirrored = sheet.opening.hinges_left_on_pull is False

    def at(self, x: float, y: float) -> Point:
        across = self.width - x if self.mirrored else x
        return MARGIN + across * PER_INCH, MARGIN + (self.height + FACE - y) * PER_INCH

    def large(self, deviation: Length) -> float:
        return float(deviation.inches) * self.factor

    def corners(self) -> tuple[tuple[float, float], ...]:
        """Rabbet corners as read and exaggerated: hinge foot, hinge head, strike head, strike foot."""
        shape = self.shape
        lean = shape.hinge_side
        foot = self.width + self.large(shape.width_floor - self.sheet.opening.width)
        head = self.large(lean) + self.width + self.large(shape.width_head - self.sheet.opening.width)
        carried = lean.nm * self.sheet.opening.width.nm // self.sheet.opening.height.nm
        rise = self.large(shape.squareness - Length(carried))
        return (0.0, 0.0), (self.large(lean), self.height), (head, self.height + rise), (foot, 0.0)

    def marks(self) -> list[str]:
        scheduled = [(0.0, 0.0), (0.0, self.height), (self.width, self.height), (self.width, 0.0)]
        read = self.corners()
        outer = (
            (read[0][0] - FACE, 0.0),
            (read[1][0] - FACE, read[1][1] + FACE),
            (read[2][0] + FACE, read[2][1] + FACE),
            (read[3][0] + FACE, 0.0),
        )
        floor = (self.at(-FACE * 4, 0), self.at(self.width + FACE * 4, 0))
        return [
            text((MARGIN + self.width * PER_INCH / 2, 16), self.words.elevation, "heading", size=11),
            line(*floor, "floor", width=1.5),
            outline([self.at(*point) for point in scheduled], "as-scheduled", width=0.8, dash="5 4", closed=False),
            outline([self.at(*point) for point in read], "as-read", width=2, closed=False),
            outline([self.at(*point) for point in outer], "as-read-face", width=1, closed=False),
            *self._hardware(),
            *self._dimensions(),
            *self._gaps(),
        ]

    def jamb_x(self, y: float, *, strike: bool) -> float:
        """Where a jamb's rabbet stands at a height, as drawn."""
        hinge_foot, hinge_head, strike_head, strike_foot = self.corners()
        foot, head = (strike_foot, strike_head) if strike else (hinge_foot, hinge_head)
        return foot[0] + (head[0] - foot[0]) * y / self.height

    def _hardware(self) -> list[str]:
        marks = []
        jambs = (False, True) if self.sheet.opening.leaves == 2 else (False,)
        for hinge in self.sheet.hinges:
            y = float(hinge.inches)
            marks += [block(self.at(self.jamb_x(y, strike=side), y), (4, 18), "hinge") for side in jambs]
        for anchor in self.sheet.anchors:
            y = float(anchor.inches)
            for side, outward in ((False, -FACE), (True, FACE)):
                x = self.jamb_x(y, strike=side) + outward
                marks.append(line(self.at(x, y), self.at(x + outward, y), "anchor", width=2.5))
        if self.sheet.spreaders:
            for y in (1.0, self.height / 2):
                ends = [self.at(self.jamb_x(y, strike=side), y) for side in (False, True)]
                marks.append(line(ends[0], ends[1], "spreader", width=1.5, dash="10 3 2 3"))
        return marks

    def _dimensions(self) -> list[str]:
        units, lengths = self.sheet.units, self.sheet.readings.lengths
        left, right = sorted((self.at(0, 0)[0], self.at(self.width, 0)[0]))
        top, bottom = self.at(0, self.height)[1], self.at(0, 0)[1]
        height = format_length(self.sheet.opening.height, units=units, feet=units == "imperial")
        width = format_length(self.sheet.opening.width, units=units, feet=units == "imperial")
        middle = (left + right) / 2
        marks = [
            dimension((left, top - 34), (right, top - 34), width, label=(middle, top - 38)),
            dimension(
                (left - 40, top), (left - 40, bottom), height, label=(left - 44, (top + bottom) / 2), anchor="end"
            ),
        ]
        for name, y in (("width_head", self.height - 5), ("width_mid", self.height / 2 + 3), ("width_floor", 4.0)):
            if name in lengths:
                words = f"{self.words.measures[name]} {format_length(lengths[name], units=units)}"
                marks.append(text((middle, self.at(0, y)[1]), words, "reading"))
        for name, (x, y) in (
            ("hinge_plumb_side", (FACE * 1.5, self.height * 0.72)),
            ("strike_plumb_side", (self.width - FACE * 1.5, self.height * 0.72)),
            ("head_level", (self.width / 2, self.height - 9)),
            ("squareness", (self.width / 2, self.height - 12)),
        ):
            if name in lengths:
                words = f"{self.words.measures[name]} {format_length(lengths[name], units=units)}"
                end = "start" if (x < self.width / 2) != self.mirrored else "end"
                marks.append(text(self.at(x, y), words, "reading", anchor="middle" if x == self.width / 2 else end))
        return marks

    def _gaps(self) -> list[str]:
        if self.sheet.fit is None:
            return []
        troubled = {trouble.place: trouble for trouble in self.sheet.fit.troubles}
        marks = []
        for place, (x, y) in _label_places(self.width, self.height).items():
            trouble, gap = troubled.get(place), self.sheet.fit.gaps.get(place)
            right = self.at(x, y)[0] > MARGIN + self.width * PER_INCH / 2
            end = "start" if right else "end"
            spot = (self.at(x, y)[0] + (LABEL_OFF if right else -LABEL_OFF), self.at(x, y)[1])
            shown = self.words.places.get(place, "") if gap is None else format_length(gap, units=self.sheet.units)
            if trouble is not None:
                by = f"{self.words.problems[trouble.problem]} {format_length(trouble.by, units=self.sheet.units)}"
                marks.append(warning(spot, shown, by, anchor=end))
            elif gap is not None:
                marks.append(text(spot, shown, "gap", anchor=end, size=8))
        return marks


def _label_places(width: float, height: float) -> dict[str, Point]:
    """Where each gap and problem is labelled, in inches from the hinge rabbet and above the floor."""
    above, middle = height + FACE + 1, width / 2
    return {
        "strike_head": (width, height - 4),
        "strike_mid": (width, height / 2 - 3),
        "strike_floor": (width, 6.0),
        "head_hinge": (3.0, above),
        "head_strike": (width - 3, above),
        "meeting_head": (middle, height - 16),
        "meeting_mid": (middle, height / 2 - 3),
        "meeting_floor": (middle, 8.0),
        "head_meeting": (middle - 3, above),
        "head_meeting_second": (middle + 3, above),
        "floor": (middle, -3.0),
        "stop_strike_head": (width, height - 9),
        "stop_strike_floor": (width, 12.0),
    }


def _plan(sheet: Sheet, shape: FrameShape, factor: int, top: float, words: Words) -> list[str]:
    """Both jambs cut at the floor, and dashed where their tops stand; pull side at the bottom of the sheet."""
    width = float(sheet.opening.width.inches)
    mirrored = sheet.opening.hinges_left_on_pull is False
    ahead = float(sheet.readings.lengths["alignment"].inches) * factor if "alignment" in sheet.readings.lengths else 0.0
    marks = [text((MARGIN + width * PER_INCH / 2, top - 22), words.plan, "heading", size=11)]
    for strike, face, side in (
        (False, shape.hinge_face, shape.hinge_side),
        (True, shape.strike_face, shape.strike_side),
    ):
        out = 1.0 if strike else -1.0
        rabbet = width if strike else 0.0
        for kind, dash, z, x in (
            ("as-read", "", ahead if strike else 0.0, rabbet),
            ("top-of-jamb", "4 3", (ahead if strike else 0.0) + float(face.inches) * factor,
             rabbet + float(side.inches) * factor),
        ):  # fmt: skip
            corners = ((x, 0.0), (x + out * FACE, 0.0), (x + out * FACE, JAMB_DEPTH), (x, JAMB_DEPTH))
            points = [
                (MARGIN + (width - px if mirrored else px) * PER_INCH, top + (pz + z) * PER_INCH) for px, pz in corners
            ]
            marks.append(outline(points, kind, width=0.8 if dash else 1.6, dash=dash))
    below = top + (JAMB_DEPTH + LARGEST_DRAWN) * PER_INCH + 12
    for name, x in (
        ("hinge_plumb_face", 0.0),
        ("strike_plumb_face", width),
        ("twist", width * 0.5),
        ("alignment", width * 0.5),
    ):
        if name in sheet.readings.lengths:
            value = format_length(sheet.readings.lengths[name], units=sheet.units)
            at = MARGIN + (width - x if mirrored else x) * PER_INCH
            drop = {"twist": -14.0, "alignment": -26.0}.get(name, 0.0)
            marks.append(text((at, below + drop), f"{words.measures[name]} {value}", "reading"))
    return marks


def _title_block(sheet: Sheet, factor: int, width: float, height: float, words: Words) -> list[str]:
    top = height - 44
    verdict = "" if sheet.verdict is None else words.verdicts[sheet.verdict.verdict.value]
    fit = "" if sheet.fit is None else words.fits[sheet.fit.verdict.value]
    return [
        outline([(4, top), (width - 4, top), (width - 4, height - 4), (4, height - 4)], "title-block", width=1.2),
        text((12, top + 16), sheet.number or words.untitled, "number", anchor="start", size=13),
        text(
            (width - 12, top + 16), "  ".join(part for part in (verdict, fit) if part), "verdict", anchor="end", size=11
        ),
        text((12, top + 32), words.scale.format(factor=factor), "scale", anchor="start", size=9),
    ]


def _description(sheet: Sheet, factor: int, words: Words) -> str:
    said = [words.scale.format(factor=factor)]
    said += [
        f"{words.measures[name]} {format_length(length, units=sheet.units)}"
        for name, length in sheet.readings.lengths.items()
        if name in words.measures
    ]
    if sheet.fit is not None:
        said += [
            f"{trouble.place.replace('_', ' ')}: {words.problems[trouble.problem]} "
            f"{format_length(trouble.by, units=sheet.units)}"
            for trouble in sheet.fit.troubles
        ]
    return "; ".join(said)
