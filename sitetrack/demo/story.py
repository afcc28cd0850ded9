"""What goes wrong on the demo job, and where: a cast of openings, each with the script of its stage.

A script stands in for the crew at one stage of one opening. It is called when that stage could begin.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sitetrack.demo.days import TUESDAY, JobDays
from sitetrack.demo.entries import Frame, Said
from sitetrack.demo.measuring import misread
from sitetrack.demo.work import Job, Script


@dataclass(frozen=True, slots=True)
class Cast:
    """The opening numbers that a story is told of."""

    held_and_released: str
    wrong_hand: str
    late_phone: str
    outdated: str
    long_hold: str
    misread_tape: str
    spreaders_out: str
    taken_back: str
    turned_after_set: str
    never_checked: str
    fresh_hold: str
    number_misread: str
    number_read_as: str


def choose(frames: Sequence[Frame]) -> Cast:
    """Give every part to an opening that suits it; the same frames always give the same cast."""
    taken: set[str] = set()
    ground = [frame for frame in frames if frame.floor == "1"]
    second = [frame for frame in frames if frame.floor == "2"]
    third = [frame for frame in frames if frame.floor == "3"]
    wired = [frame for frame in frames if frame.floor == "2" and _electrified(frame)]

    def first(among: Sequence[Frame], suits: Callable[[Frame], bool] = lambda frame: True) -> str:
        found = next(frame.number for frame in among if frame.number not in taken and suits(frame))
        taken.add(found)
        return found

    return Cast(
        outdated=first(wired[len(wired) // 2 :]),
        late_phone=first(second, _plain),
        wrong_hand=first(second, _plain),
        turned_after_set=first(ground[::-1], _plain),
        spreaders_out=first(second, _plain),
        misread_tape=first(second, _plain),
        long_hold=first(second[len(second) // 2 :]),
        held_and_released=first(ground),
        taken_back=first(ground, _plain),
        never_checked=first(third, _plain),
        fresh_hold=first(third, _plain),
        number_misread=(misread_number := first(third[len(third) // 3 :])),
        number_read_as=_turned_round(misread_number, {frame.number for frame in frames}),
    )


def _plain(frame: Frame) -> bool:
    """Nothing that would make it wait for others: no wiring, no label."""
    return not frame.attributes["electrified"] and not frame.rated


def _electrified(frame: Frame) -> bool:
    return bool(frame.attributes["electrified"]) and frame.attributes["leaves"] == 1


def _turned_round(number: str, known: set[str]) -> str:
    """The number with its digits in another order, as no opening is called."""
    turned = (
        number[0] + number[2] + number[1] + number[3:],
        number[0] + number[1] + number[3] + number[2],
        "9" + number,
    )
    return next(each for each in turned if each != number and each not in known)


@dataclass(frozen=True, slots=True)
class LatePhone:
    """The days of the late phone: silent from a Thursday to Monday; the inspector's comes back on Tuesday."""

    thursday: date
    friday: date
    monday: date
    tuesday: date

    def silent(self, days: JobDays) -> tuple[datetime, datetime]:
        """From when until when it can't be heard."""
        return days.at(self.thursday, "14:20"), days.at(self.monday, "10:12")


def late_phone(days: JobDays) -> LatePhone:
    """The last such days that the job has behind it."""
    tuesday = max(day for day in days.days if day.weekday() == TUESDAY and days.at(day, "09:30") <= days.until)
    return LatePhone(*(tuesday - timedelta(days=back) for back in (5, 4, 1, 0)))


def scripts(cast: Cast, late: LatePhone) -> dict[tuple[str, str], Script]:
    """The script of every opening in the cast, by the stage it takes over."""

    def explained(job: Job, frame: Frame, at: datetime) -> None:
        _explained_by_a_late_phone(job, frame, at, late)

    return {
        (cast.wrong_hand, "match"): _wrong_hand,
        (cast.held_and_released, "set"): _held_and_released,
        (cast.long_hold, "set"): _long_hold,
        (cast.fresh_hold, "stud"): _fresh_hold,
        (cast.late_phone, "trueness"): explained,
        (cast.never_checked, "trueness"): _boarded_and_never_checked,
        (cast.outdated, "board"): _outdated,
        (cast.misread_tape, "trueness"): _misread_tape,
        (cast.spreaders_out, "recheck"): _spreaders_out,
        (cast.taken_back, "finish"): _taken_back,
        (cast.number_misread, "layout"): lambda job, frame, at: _number_misread(job, frame, at, cast.number_read_as),
    }


def _work_time(job: Job, at: datetime, minutes: float = 5) -> datetime:
    return (job.days.slot(at, minutes) or at) + timedelta(minutes=minutes)


def _wrong_hand(job: Job, frame: Frame, at: datetime) -> None:
    found = _work_time(job, at)
    job.log("rogelio", frame, "match", "fail", found,
            Said(answers={"hand": False}, note="Mano contraria: el marco trae las bisagras del otro lado"))  # fmt: skip
    held = job.log("rogelio", frame, "match", "hold", found + timedelta(minutes=2),
                   Said(note="Marco de mano contraria, se pidió el correcto"))  # fmt: skip
    came = job.days.later(found, 3, "09:10")
    job.log("ingrid", frame, "match", "release", came, Said(about=held.id, note="The right one came this morning"))
    job.log("yesenia", frame, "receive", "finish", came + timedelta(minutes=12))
    matched = job.log("yesenia", frame, "match", "finish", came + timedelta(minutes=19))
    job.complete(frame, "match", matched.known)


def _held_and_released(job: Job, frame: Frame, at: datetime) -> None:
    found = _work_time(job, at)
    held = job.log("yesenia", frame, "set", "hold", found,
                   Said(note="Losa 3/8 alta donde va la jamba de contra, hay que rebajar"))  # fmt: skip
    ground = job.days.later(found, 1, "13:05")
    freed = job.log("ingrid", frame, "set", "release", ground, Said(about=held.id, note="Slab ground down and swept"))
    job.offer(frame, "set", freed.known or ground)


def _long_hold(job: Job, frame: Frame, at: datetime) -> None:
    job.log("rogelio", frame, "set", "hold", _work_time(job, at),
            Said(note="Muro corrido 4 pulgadas del plano; falta respuesta del arquitecto"))  # fmt: skip


def _fresh_hold(job: Job, frame: Frame, at: datetime) -> None:
    yesterday = job.days.at(job.days.days[-2], "10:25")
    job.log("owen", frame, "stud", "hold", max(at, yesterday), Said(note="Duct drop where the header goes"))


def _explained_by_a_late_phone(job: Job, frame: Frame, at: datetime, late: LatePhone) -> None:
    """Read and signed on Thursday, boarded on Friday, and the server hears of it in the opposite order."""
    read_at = max(at, job.days.at(late.thursday, "14:52"))
    read = job.log("rogelio", frame, "trueness", "finish", read_at, Said(readings=job.read_true(frame, "trueness")))
    signed = job.log("kofi", frame, "trueness", "sign", read_at + timedelta(minutes=11), Said(about=read.id))
    friday = job.days.at(late.friday, "07:10")
    job.log("efrain", frame, "board", "start", friday, Said(note="Marca de plomo y firma en el poste"))
    boarded = job.log("efrain", frame, "board", "finish", friday + timedelta(minutes=36))
    frame.boarded_by = "efrain"
    if signed.known and boarded.known:
        frame.known["board"] = boarded.known
        frame.known["trueness"] = signed.known
        job.complete(frame, "board", max(signed.known, boarded.known))


def _boarded_and_never_checked(job: Job, frame: Frame, at: datetime) -> None:
    boarded = max(at, job.days.at(job.days.days[-2], "13:25"))
    job.log("temo", frame, "board", "start", boarded, Said(note="Un lado puesto"))


def _outdated(job: Job, frame: Frame, at: datetime) -> None:
    moved = _work_time(job, at, 30)
    job.log(
        "priyal", frame, "roughin", "finish", moved, Said(note="Box moved up for the electric hinge, wire pulled again")
    )


def _misread_tape(job: Job, frame: Frame, at: datetime) -> None:
    found = _work_time(job, at)
    readings = job.read_true(frame, "trueness")
    job.log("yesenia", frame, "trueness", "finish", found, Said(readings=misread(readings, "width_floor", -1.0)))
    again = _work_time(job, found + timedelta(minutes=45))
    read = job.log("yesenia", frame, "trueness", "finish", again,
                   Said(readings=readings, note="Leí mal la cinta, una pulgada de menos"))  # fmt: skip
    job.await_signature(frame, "trueness", read)


def _spreaders_out(job: Job, frame: Frame, at: datetime) -> None:
    found = _work_time(job, at)
    by = frame.boarded_by
    job.log(by, frame, "recheck", "finish", found,
            Said(readings=job.read_true(frame, "recheck"), answers={"spreaders_in": False},
                 note="Los separadores ya no estaban"))  # fmt: skip
    frame.misses["recheck"] = 1
    job.offer(frame, "recheck", job.days.later(found, 1, "08:00"))


def _taken_back(job: Job, frame: Frame, at: datetime) -> None:
    mistaken = _work_time(job, at)
    painted = job.log("tomasz", frame, "finish", "finish", mistaken)
    job.log("tomasz", frame, "finish", "void", mistaken + timedelta(minutes=3),
            Said(about=painted.id, note="Wrong door, it was the next one along"))  # fmt: skip
    job.offer(frame, "finish", job.days.later(mistaken, 1, "08:00"))


def _number_misread(job: Job, frame: Frame, at: datetime, read_as: str) -> None:
    laid_out = max(at, job.days.at(job.days.days[-2], "10:40"))
    job.log("aurelio", frame, "layout", "finish", laid_out, Said(opening=read_as))


def told_of(cast: Cast) -> Iterator[str]:
    """Every opening of the cast."""
    return (getattr(cast, name) for name in cast.__slots__)
