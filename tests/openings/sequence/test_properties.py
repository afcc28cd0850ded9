"""What holds for any set of check-ins at all: sensible days, muddled days and garbage."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from openings.sequence.facts import Action, Fact, in_order, live_facts
from openings.sequence.fold import fold
from openings.sequence.plan import Plan
from openings.sequence.stage import Role
from openings.sequence.state import BreachKind, OpeningState, State

CODES = [
    *("receive", "match", "ffl", "layout", "assemble", "set", "roughin", "stud", "anchor", "trueness"),
    *("board", "recheck", "fix", "finish", "flooring", "hang", "final"),
]
ATTRIBUTES = st.fixed_dictionaries(
    {
        "construction": st.sampled_from(["welded", "knocked_down", None]),
        "electrified": st.sampled_from([True, False, None]),
        "covering_thickness": st.sampled_from([0, 0.25, None]),
    }
)
COMPANIES = ["", "frame company", "board company"]


@st.composite
def days(draw: st.DrawFn, most: int = 24) -> list[Fact]:
    """Check-ins by a few phones: mostly of real stages, times close enough to collide, some naming each other."""
    facts: list[Fact] = []
    for number in range(draw(st.integers(0, most))):
        corrected = draw(st.integers(0, 40))
        facts.append(
            Fact(
                id=f"f{number}",
                stage=draw(st.sampled_from([*CODES, "trueness", "board", "anchor", "no_such_stage", ""])),
                action=draw(st.sampled_from([*Action, Action.FINISH, Action.FINISH, Action.SIGN, "dance"])),
                corrected=corrected,
                received=corrected + draw(st.integers(-5, 30)),
                uncertainty=draw(st.integers(0, 4)),
                device=draw(st.sampled_from(["p", "q", "desk"])),
                counter=draw(st.none() | st.integers(0, 12)),
                about=draw(st.none() | st.integers(0, most).map("f{}".format)),
                verdict=draw(st.sampled_from(["pass", "pass", "fail", "incomplete", None, "splendid"])),
                role=draw(st.sampled_from([*Role, "stranger"])),
                company=draw(st.sampled_from(COMPANIES)),
                waives=draw(st.booleans()),
            )
        )
    return facts


def bare(state: OpeningState) -> dict[str, object]:
    """The state without its trail of what was taken back and what did not fit."""
    return {name: value for name, value in state.to_dict().items() if name not in ("taken_back", "conflicts")}


@given(ATTRIBUTES, days(), st.data())
@settings(max_examples=300)
def test_any_order_of_arrival_and_any_copies_give_the_same_state(
    steel: Plan, attributes: dict[str, object], facts: list[Fact], data: st.DataObject
) -> None:
    copies = data.draw(st.lists(st.sampled_from(facts), max_size=8)) if facts else []
    shuffled = data.draw(st.permutations(facts + copies))
    assert fold(steel, attributes, shuffled) == fold(steel, attributes, facts)


@given(ATTRIBUTES, days(), st.data())
@settings(max_examples=300)
def test_taking_a_check_in_back_is_never_having_made_it(
    steel: Plan, attributes: dict[str, object], facts: list[Fact], data: st.DataObject
) -> None:
    facts = [fact for fact in facts if fact.action != Action.VOID]
    if not facts:
        return
    slip = data.draw(st.sampled_from(facts))
    void = Fact(
        id="void", stage=slip.stage, action="void", about=slip.id, role="supervisor",
        corrected=data.draw(st.integers(0, 60)), received=data.draw(st.integers(0, 60)), device="p",
        counter=data.draw(st.none() | st.integers(0, 12)),
    )  # fmt: skip
    without = fold(steel, attributes, [fact for fact in facts if fact is not slip])
    taken_back = fold(steel, attributes, [*facts, void])
    assert bare(taken_back) == bare(without)
    assert taken_back.conflicts == without.conflicts
    assert taken_back.taken_back == {slip.id: "void"}


@given(days())
def test_no_effective_time_passes_a_receipt_and_none_runs_back_along_a_counter(facts: list[Fact]) -> None:
    live, _, _ = live_facts(facts)
    placed, _ = in_order(live.values())
    assert all(at <= fact.received for at, *_, fact in placed)
    for device in {fact.device for fact in live.values()}:
        along = sorted((fact.counter, fact.id, at) for at, *_, fact in placed
                       if fact.device == device and fact.counter is not None)  # fmt: skip
        times = [at for *_, at in along]
        assert times == sorted(times)
        in_walk = [(fact.counter, fact.id) for *_, fact in placed if fact.device == device and fact.counter is not None]
        assert in_walk == [(counter, id_) for counter, id_, _ in along]


@given(ATTRIBUTES, days())
@settings(max_examples=300)
def test_the_parts_of_a_state_agree_with_each_other(
    steel: Plan, attributes: dict[str, object], facts: list[Fact]
) -> None:
    state = fold(steel, attributes, facts)
    stages = state.stages
    held = any(hold.open for hold in state.holds)
    done = {code for code, stage in stages.items() if stage.state is State.DONE}
    assert list(stages) == CODES
    assert state.earned == sum(stage.weight for stage in steel.stages if stage.code in done)
    assert set(state.ready) == {code for code, stage in stages.items() if stage.actionable}
    assert not (held and state.ready)
    stopped = {State.READY, State.UNDERWAY} if held else {State.HELD}
    assert not any(stage.state in stopped for stage in stages.values())
    if state.ready:
        # What is next begins the longest remaining path: nothing undone lies before it.
        assert state.remaining_path[0] == state.next_stage == state.ready[0]
    elif not held:
        assert done == {code for code, stage in stages.items() if stage.state is not State.NOT_NEEDED}
    for code, stage in stages.items():
        assert (stage.done_at is not None) is (code in done)
        assert stage.blocked_by == () or stage.state not in (State.READY, State.DONE, State.NOT_NEEDED)
        assert (stage.state is State.OUTDATED) is bool(stage.outdated_by)
    for breach in state.breaches:
        assert (breach.kind is BreachKind.ORDER_UNCERTAIN) or breach.kind is breach.was
        assert not (breach.critical and breach.kind is BreachKind.ORDER_UNCERTAIN)
    assert len({breach.key for breach in state.breaches}) == len(state.breaches)


@given(days(most=10))
def test_a_late_pass_and_its_signature_always_clear_the_board(steel: Plan, facts: list[Fact]) -> None:
    """Boarded before checked, then evidence arrives that the check was made and signed in time."""
    base = 1_000
    stray = [replace(fact, id=f"stray-{fact.id}", action="note", device="stray") for fact in facts]
    work = ["receive", "match", "ffl", "layout", "set", "stud", "anchor"]
    known = [
        Fact(id=code, stage=code, action="finish", verdict="pass", corrected=base + n, received=9_000, device="crew")
        for n, code in enumerate(work)
    ]
    board = Fact(id="board", stage="board", action="start", corrected=base + 100, received=9_000, device="drywall")
    late = [
        Fact(id="reading", stage="trueness", action="finish", verdict="pass", corrected=base + 50, received=20_000,
             device="crew", counter=99),
        Fact(id="sign", stage="trueness", action="sign", about="reading", role="inspector", corrected=base + 60,
             received=20_000, device="inspector"),
    ]  # fmt: skip
    before = fold(steel, {"electrified": False}, [*known, board, *stray])
    after = fold(steel, {"electrified": False}, [*late, *known, board, *stray])
    assert [(breach.prerequisite, breach.critical) for breach in before.breaches] == [("trueness", True)]
    assert after.breaches == ()


WILD_TEXT = st.text(max_size=5)
WILD_TIME = st.integers(-(10**18), 10**18)


@given(
    st.dictionaries(WILD_TEXT | st.sampled_from(["electrified", "construction", "covering_thickness"]),
                    st.none() | st.booleans() | st.floats() | WILD_TEXT | st.binary(max_size=2)),
    st.lists(
        st.builds(
            Fact, id=st.sampled_from("abcde"), stage=st.sampled_from(CODES) | WILD_TEXT,
            action=st.sampled_from(list(Action)) | WILD_TEXT, corrected=WILD_TIME, received=WILD_TIME,
            uncertainty=WILD_TIME, device=WILD_TEXT, counter=st.none() | st.integers(),
            about=st.none() | st.sampled_from("abcde") | WILD_TEXT, verdict=st.none() | WILD_TEXT, role=WILD_TEXT,
            company=WILD_TEXT, waives=st.booleans(), person=WILD_TEXT, note=WILD_TEXT,
        ),
        max_size=12,
    ),
)  # fmt: skip
@settings(max_examples=300)
def test_the_fold_takes_anything_and_gives_it_the_same_state_backwards(
    steel: Plan, attributes: dict[str, object], facts: list[Fact]
) -> None:
    state = fold(steel, attributes, facts)
    assert list(state.stages) == CODES
    assert fold(steel, attributes, reversed(facts)) == state


@pytest.mark.parametrize("copies", [2, 3])
def test_a_batch_sent_again_changes_nothing(steel: Plan, plain, day, copies: int) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    day.work("board")
    assert fold(steel, plain, day.facts * copies) == fold(steel, plain, day.facts)
