"""The frame drawing: to scale, honest about its exaggeration, mirrored by hand, safe to put in a page."""

import re
from dataclasses import replace
from typing import Any
from xml.etree.ElementTree import Element

import pytest
from defusedxml.ElementTree import fromstring
from reportlab.pdfbase.pdfmetrics import stringWidth

from inspections.trueness.door_fit import door_fit
from inspections.trueness.drawing import FACTORS, MARGIN, PER_INCH, Sheet, draw_frame, exaggeration
from inspections.trueness.hinges import plan_hinges
from inspections.trueness.leaf import design_leaf
from inspections.trueness.opening import Hand, NominalOpening
from inspections.trueness.profile import DEFAULT_PROFILE
from inspections.trueness.readings import read_readings
from inspections.trueness.shape import frame_shape
from inspections.trueness.verdict import judge_readings
from sitetrack.kit.lengths import INCH

OPENING = NominalOpening(INCH * 36, INCH * 84)
SVG = "{http://www.w3.org/2000/svg}"


def sheet(opening: NominalOpening = OPENING, number: str = "B1-2014", **readings: Any) -> Sheet:
    read = read_readings(readings)
    leaf = design_leaf(opening, DEFAULT_PROFILE)
    return Sheet(
        opening,
        read,
        number,
        hinges=plan_hinges(height=opening.height, leaf_width=opening.width).heights,
        anchors=(INCH * 16, INCH * 48, INCH * 80),
        verdict=judge_readings(read, opening=opening, profile=DEFAULT_PROFILE),
        fit=door_fit(read, opening=opening, leaf=leaf, profile=DEFAULT_PROFILE),
    )


def picture(of: Sheet) -> Element:
    return fromstring(draw_frame(of))


def marks(svg: Element, kind: str) -> list[Element]:
    return [each for each in svg.iter() if each.get("class") == kind]


def points(mark: Element) -> list[tuple[float, float]]:
    return [tuple(float(part) for part in pair.split(",")) for pair in mark.get("points", "").split()]  # type: ignore[misc]


def test_frame_as_scheduled_is_drawn_to_scale() -> None:
    corners = points(marks(picture(sheet()), "as-scheduled")[0])
    width, height = corners[3][0] - corners[0][0], corners[0][1] - corners[1][1]
    assert (width / PER_INCH, height / PER_INCH) == (36, 84)


def test_deviation_is_drawn_by_the_factor_the_drawing_states() -> None:
    of = sheet(hinge_plumb_side="1/8", width_floor="36", strike_plumb_side="0")
    svg = picture(of)
    factor = exaggeration(frame_shape(of.readings.lengths, OPENING), OPENING)
    foot, head, *_ = points(marks(svg, "as-read")[0])
    assert (head[0] - foot[0]) / PER_INCH == pytest.approx(factor / 8, abs=0.01)
    assert f"×{factor}" in marks(svg, "scale")[0].text  # type: ignore[operator]


def test_factor_is_the_largest_that_stays_in_its_room() -> None:
    for reading, expected in (("1/16", 16), ("1/4", 16), ("1/2", 8), ("12", 1), ("0", FACTORS[0])):
        shape = frame_shape(read_readings({"hinge_plumb_face": reading}).lengths, OPENING)
        assert exaggeration(shape, OPENING) <= expected
        assert exaggeration(shape, OPENING) in FACTORS


def test_every_hinge_anchor_and_spreader_is_there_at_its_height() -> None:
    of = sheet()
    svg = picture(of)
    assert len(marks(svg, "hinge")) == 3
    assert len(marks(svg, "anchor")) == 6
    assert len(marks(svg, "spreader")) == 2
    floor = points(marks(svg, "as-scheduled")[0])[0][1]
    drawn = [(floor - float(mark.get("y1", "nan"))) / PER_INCH for mark in marks(svg, "anchor")]
    assert sorted(set(drawn)) == [16, 48, 80]
    pair = sheet(NominalOpening(INCH * 72, INCH * 84, leaves=2))
    assert len(marks(picture(pair), "hinge")) == 6


def test_hand_mirrors_the_drawing_and_leaves_the_words() -> None:
    readings = {"hinge_plumb_side": "1/8", "strike_plumb_side": "1/16", "width_floor": "36 1/16", "squareness": "1/8"}
    left, right = (
        picture(sheet(NominalOpening(INCH * 36, INCH * 84, hand=hand), **readings)) for hand in (Hand.RH, Hand.LH)
    )
    middle = MARGIN + 18 * PER_INCH
    for kind in ("as-read", "as-scheduled", "as-read-face"):
        mirrored = [(2 * middle - x, y) for x, y in points(marks(left, kind)[0])]
        for here, there in zip(mirrored, points(marks(right, kind)[0]), strict=True):
            assert here == pytest.approx(there, abs=0.011)
    words = [sorted(each.text or "" for each in svg.iter(f"{SVG}text")) for svg in (left, right)]
    assert words[0] == words[1]


def test_problem_spot_is_told_by_sign_and_words_not_by_colour() -> None:
    svg = picture(sheet(width_head="35 7/8", width_mid="36", width_floor="36", twist="3/16"))
    spots = marks(svg, "spot")
    assert spots
    for spot in spots:
        assert next(each.text for each in spot.iter(f"{SVG}text")) == "!"
        assert re.search("binds|drags|too wide", "".join(spot.itertext()))
    assert "binds by" in (svg.findtext(f"{SVG}desc") or "")
    assert marks(picture(sheet(width_head="36", width_mid="36", width_floor="36")), "spot") == []


def test_gaps_and_widths_are_labelled() -> None:
    text = "".join(picture(sheet(width_head="36 1/32", width_mid="36", width_floor="36", head_level="1/32")).itertext())
    assert 'head 36 1/32"' in text
    assert '5/32"' in text
    assert "3'-0\"" in text
    assert "7'-0\"" in text


def test_nothing_given_can_reach_the_page_as_markup() -> None:
    drawn = draw_frame(sheet(number="<script>alert('1')</script>&\"x"))
    assert "<script" not in drawn
    assert marks(fromstring(drawn), "number")[0].text == "<script>alert('1')</script>&\"x"


def test_drawing_keeps_to_a_strict_content_policy() -> None:
    drawn = draw_frame(sheet(twist="1/8"))
    assert "style=" not in drawn
    assert "<style" not in drawn
    assert not re.search(r"\son[a-z]+=", drawn)
    assert "href" not in drawn
    svg = fromstring(drawn)
    assert svg.get("role") == "img"
    assert svg.findtext(f"{SVG}title")


def test_drawing_speaks_spanish() -> None:
    words = "".join(picture(replace(sheet(twist="1/4"), language="es")).itertext())
    assert "desviaciones dibujadas" in words
    assert "FUERA DE TOLERANCIA" in words
    assert "too wide" not in words


@pytest.mark.parametrize("hand", [Hand.RH, Hand.LH])
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_no_word_runs_off_the_drawing(hand: Hand, language: str, units: Any) -> None:
    """Widths by the metrics of Helvetica that reportlab carries, and a sixth more for wider faces."""
    out = {"width_head": "35 9/32", "width_mid": "36 23/32", "width_floor": "37 19/32", "twist": "-1 3/32",
           "squareness": "1 5/32"}  # fmt: skip
    for leaves, width in ((1, 36), (2, 72)):
        of = sheet(NominalOpening(INCH * width, INCH * 84, leaves=leaves, hand=hand), **out)
        svg = picture(replace(of, language=language, units=units))
        right = float(svg.get("viewBox", "").split()[2])
        for word in svg.iter(f"{SVG}text"):
            x, size = float(word.get("x", "nan")), float(word.get("font-size", "nan"))
            long = stringWidth(word.text or "", "Helvetica", size) * 7 / 6
            start = x - long * {"start": 0, "middle": 0.5, "end": 1}[word.get("text-anchor", "")]
            assert start >= 0, word.text
            assert start + long <= right, word.text
