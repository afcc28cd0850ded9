"""The calculations as they are asked for and answered: a plain dict in, a plain dict out, nothing kept.

Every function takes a request as it came and raises ReadingError, naming the field, for what cannot be used. A length
in an answer is {"text", "in", "mm"}; every limit used is named in `sources` or beside its item.
"""

from collections.abc import Iterable
from typing import Any

from inspections.standards.anchors import ANCHOR_RULE_SETS, Wall
from inspections.standards.clearances import GAP_RULES
from inspections.standards.floors import BASE_ANCHOR_TRAVEL
from inspections.standards.hinges import DEFAULT_LAYOUT, LAYOUTS
from inspections.standards.limits import Citation
from inspections.standards.sources import ARITHMETIC, HMMA_UNDERCUT
from inspections.standards.walls import SLACK_WANTED
from inspections.trueness.advice import Advice, advise
from inspections.trueness.anchors import plan_anchors, rule_sets_for
from inspections.trueness.door_fit import DoorFit
from inspections.trueness.door_fit import door_fit as fit_door
from inspections.trueness.errors import ReadingError, shown
from inspections.trueness.floor import set_floor, undercut_for
from inspections.trueness.hinges import USUAL_LEAF, plan_hinges
from inspections.trueness.leaf import THICKEST, THINNEST
from inspections.trueness.move_words import move_in_words, side_from_pull
from inspections.trueness.opening import (
    HIGHEST,
    LOWEST,
    NARROWEST,
    THICKEST_COVERING,
    WIDEST,
    FootOn,
    NominalOpening,
    read_choice,
    read_opening,
    read_whole,
)
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import size_length
from inspections.trueness.requests import (
    as_object,
    optional_length,
    read_check_request,
    read_layers,
    read_units,
)
from inspections.trueness.verdict import judge_readings
from inspections.trueness.wall import take_off_wall, wall_thickness
from sitetrack.kit.lengths import INCH, ZERO, Length, UnitSystem, length_json

Answer = dict[str, Any]


def wall(request: object) -> Answer:
    """Wall thickness against a frame's throat. Asks: stud, boards_pull, boards_push, jamb_depth, return."""
    asked = as_object(request)
    units = read_units(asked)
    stud = size_length("stud", asked.get("stud"), least=INCH, most=INCH * 24, units=units)
    boards = read_layers(asked, "boards_pull", units) + read_layers(asked, "boards_push", units)
    depth = size_length("jamb_depth", asked.get("jamb_depth"), least=INCH * 2, most=INCH * 36, units=units)
    each_return = size_length("return", asked.get("return"), least=INCH // 8, most=INCH * 2, units=units)
    if (depth - each_return * 2) <= ZERO:
        raise ReadingError("return", shown(asked["return"]), "less than half the jamb depth")
    taken = take_off_wall(wall_thickness(stud, boards), jamb_depth=depth, each_return=each_return)
    return {
        "wall_thickness": length_json(taken.thickness, units=units),
        "throat": length_json(taken.throat, units=units),
        "slack": length_json(taken.slack, units=units),
        "verdict": taken.verdict.value,
        "least_jamb_depth": length_json(taken.least_jamb_depth, units=units),
        "wanted_jamb_depth": length_json(taken.wanted_jamb_depth, units=units),
        "sources": [ARITHMETIC.cited(), SLACK_WANTED.cited()],
    }


def anchors(request: object) -> Answer:
    """Anchors per jamb, in the head and at the base. Asks: frame_height, frame_width, wall, rule_set?."""
    asked = as_object(request)
    units = read_units(asked)
    height, width = _frame_size(asked, units)
    built_as = read_choice("wall", asked.get("wall", Wall.STEEL_STUD), Wall)
    rule_set = asked.get("rule_set")
    spoken = rule_sets_for(built_as)
    if rule_set is not None and (not isinstance(rule_set, str) or rule_set not in spoken):
        raise ReadingError("rule_set", shown(rule_set), f"one of {', '.join(spoken)} for {built_as}")
    plan = plan_anchors(height=height, width=width, wall=built_as, rule_set=rule_set)
    return {
        "per_jamb": plan.per_jamb,
        "advised": plan.advised,
        "head": plan.head,
        "base": plan.base,
        "heights": [length_json(each, units=units) for each in plan.heights],
        "rule_set": plan.rule_set,
        "rule_set_title": ANCHOR_RULE_SETS[plan.rule_set].title,
        "other_rule_sets": [
            {
                "rule_set": other.rule_set,
                "per_jamb": other.per_jamb,
                "asks_for_more": other.asks_for_more,
                "source": other.source.cited(),
            }
            for other in plan.other_rule_sets
        ],
        "problems": list(plan.problems),
        "note": plan.note,
        "sources": list(plan.sources),
    }


def hinges(request: object) -> Answer:
    """Hinge count, size and centrelines. Asks: frame_height, frame_width, thickness?, leaves?, layout?."""
    asked = as_object(request)
    units = read_units(asked)
    height, width = _frame_size(asked, units)
    leaves = read_whole("leaves", asked.get("leaves", 1), least=1, most=2)
    layout = asked.get("layout", DEFAULT_LAYOUT)
    if not isinstance(layout, str) or layout not in LAYOUTS:
        raise ReadingError("layout", shown(layout), "one of " + ", ".join(LAYOUTS))
    thickness = USUAL_LEAF
    if asked.get("thickness") not in (None, ""):
        thickness = size_length("thickness", asked["thickness"], least=THINNEST, most=THICKEST, units=units)
    plan = plan_hinges(height=height, leaf_width=width // leaves, thickness=thickness, layout=layout)
    return {
        "count": plan.count,
        "size": None if plan.size is None else length_json(plan.size.height.length, units=units),
        "heavy": plan.size is not None and plan.size.heavy,
        "heights": [length_json(each, units=units) for each in plan.heights],
        "layout": layout,
        "sources": plan.sources,
    }


def floor(request: object) -> Answer:
    """Base-anchor setting and floor clearance.

    Asks: opening?, covering, foot_on?, undercut?, threshold?, travel?, wanted_clearance?, extension?, profile?.
    """
    asked = as_object(request)
    units = read_units(asked)
    profile = ToleranceProfile.from_dict(asked.get("profile"))
    if asked.get("opening") is not None:
        read_opening(asked["opening"], units=units)
    covering = size_length("covering", asked.get("covering"), least=ZERO, most=THICKEST_COVERING, units=units)

    def given(name: str, default: Length) -> Length:
        return optional_length(asked, name, default, most=INCH * 24, units=units)

    threshold, extension = given("threshold", ZERO), given("extension", ZERO)
    foot_on = read_choice("foot_on", asked.get("foot_on", FootOn.SLAB), FootOn)
    done = set_floor(
        undercut=given("undercut", profile.undercut.length),
        covering=covering,
        foot_on=foot_on,
        rule=profile.gap_rule,
        threshold=threshold,
        travel=given("travel", BASE_ANCHOR_TRAVEL.length),
    )
    wanted = given("wanted_clearance", done.limit.length)
    below = ZERO if foot_on is FootOn.FINISH else covering
    needed = undercut_for(wanted, covering=below, threshold=threshold, extension=extension)
    return {
        "setting": length_json(done.setting, units=units),
        "travel": length_json(done.travel, units=units),
        "within_travel": done.within_travel,
        "undercut": length_json(done.undercut, units=units),
        "floor_clearance": length_json(done.clearance, units=units),
        "limit": length_json(done.limit.length, units=units),
        "needed_undercut": length_json(needed, units=units),
        "verdict": done.verdict.value,
        "sources": [done.limit.cited(), profile.undercut.cited(), BASE_ANCHOR_TRAVEL.cited(), HMMA_UNDERCUT.cited()],
    }


def frame_check(request: object) -> Answer:
    """The tolerance verdict on readings. Asks: opening, readings, profile?."""
    asked = read_check_request(request)
    verdict = judge_readings(asked.readings, opening=asked.opening, profile=asked.profile)
    return verdict.to_dict(asked.units)


def door_fit(request: object) -> Answer:
    """Whether the door will fit. Asks: opening, leaf?, readings, profile?."""
    asked = read_check_request(request)
    fit = fit_door(asked.readings, opening=asked.opening, leaf=asked.leaf, profile=asked.profile)
    return fit_answer(fit, asked.profile)


def fit_answer(fit: DoorFit, profile: ToleranceProfile) -> Answer:
    """A door fit in the shape of an answer."""
    units = profile.units
    least = fit.rule.least
    cited = [fit.rule.most.cited(), fit.rule.bottom_most.cited(), profile.edge_gap.cited(), profile.stop_gap.cited()]
    return {
        "verdict": fit.verdict.value,
        "gaps": {place: length_json(gap, units=units) for place, gap in fit.gaps.items()},
        "gap_rule": fit.rule.code,
        "gap_least": None if least is None else length_json(least.length, units=units),
        "gap_most": length_json(fit.rule.most.length, units=units),
        "stop_misfit": length_json(fit.stop_misfit, units=units),
        "stop_touches_first": fit.stop_touches_first,
        "floor_clearance": {
            "least": length_json(fit.floor_least.clearance, units=units),
            "at_angle": _whole_if_it_is(fit.floor_least.angle),
            "at_rest": length_json(fit.floor_at_rest, units=units),
        },
        "self_swing": fit.self_swing.value,
        "where": [
            {
                "place": trouble.place,
                "problem": trouble.problem.value,
                "by": length_json(trouble.by, units=units),
                "limit": length_json(trouble.limit.length, units=units),
                "source": trouble.limit.cited(),
            }
            for trouble in fit.troubles
        ],
        "leaf": {
            "width": length_json(fit.leaf.width, units=units),
            "height": length_json(fit.leaf.height, units=units),
            "measured": fit.leaf.measured,
        },
        "assumed": list(fit.assumed),
        "sources": _once(cited),
    }


def advice(request: object) -> Answer:
    """Which way to move the frame. Asks: opening, readings, profile?."""
    asked = read_check_request(request)
    told = advise(asked.readings, opening=asked.opening, profile=asked.profile)
    return advice_answer(told, asked.opening, asked.units)


def advice_answer(told: Advice, opening: NominalOpening, units: UnitSystem) -> Answer:
    """Advice in the shape of an answer."""
    return {
        "moves": [
            {
                "order": move.order,
                "part": move.part.value,
                "direction": move.direction.value,
                "amount": length_json(move.amount, units=units, denominator=64),
                "seen_from_pull": side_from_pull(move.direction, opening),
                "words": move_in_words(move, opening, units),
            }
            for move in told.moves
        ],
        "predicted": {name: length_json(value, units=units) for name, value in told.predicted.lengths.items()},
        "verdict_after": told.verdict_after.verdict.value,
        "missing": list(told.verdict_after.missing),
        "measure_again": list(told.measure_again),
        "out_of_reach": list(told.out_of_reach),
        "sources": _once(item.high.cited() for item in told.verdict_after.items),
    }


def gap_rules() -> list[Answer]:
    """The gap rules a profile may name, with their sources."""
    return [{"code": rule.code, "title": rule.title, "source": rule.most.cited()} for rule in GAP_RULES.values()]


def _frame_size(asked: Any, units: UnitSystem) -> tuple[Length, Length]:
    height = size_length("frame_height", asked.get("frame_height"), least=LOWEST, most=HIGHEST, units=units)
    return height, size_length("frame_width", asked.get("frame_width"), least=NARROWEST, most=WIDEST, units=units)


def _whole_if_it_is(degrees: float) -> float:
    return int(degrees) if degrees == int(degrees) else degrees


def _once(cited: Iterable[Citation]) -> list[Citation]:
    seen: list[Citation] = []
    for each in cited:
        if each not in seen:
            seen.append(each)
    return seen
