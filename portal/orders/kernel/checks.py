"""The checks of parts: which are needed, what was recorded, and what may not go on without them.

A line of work is what the order asks of a part (`part.work`, written with the rest of its work) or
what somebody recorded. A line without a record is open, also on a job from before checks were kept.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.appraise import Practice, appraise
from portal.craft.check_kinds import CheckKind, CheckResult
from portal.craft.checks import Check, Result, check, on_part
from portal.craft.declared import read_declared
from portal.craft.messages import Message
from portal.craft.parts import Damage
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_lock import NOT_WORKED_ON, parts_of
from portal.orders.kernel.work_card import CHECKS, damage_in
from portal.shop.route import FIRST, PartStage
from portal.shop.states import FindingAnswer
from portal.store.checks import PartCheck
from portal.store.jobs import Finding, Job, Part
from portal.store.people import Person

WAITS = Message("Part {part}: “{result}”. The customer has not agreed to go on yet.")


# built once: building a statement costs more than running it
_RECORDS = (
    sa.select(
        PartCheck.part_id,
        PartCheck.kind,
        PartCheck.result,
        PartCheck.note,
        PartCheck.at,
        PartCheck.finding_id,
        Person.name,
        Finding.answer,
    )
    .outerjoin(Person, Person.id == PartCheck.person_id)
    .outerjoin(Finding, Finding.id == PartCheck.finding_id)
    .where(PartCheck.part_id.in_(sa.bindparam("part_ids", expanding=True)))
    .order_by(PartCheck.id)
)


class CheckOpen(Refused):
    """A move that a check stands against: which one, and of which part."""

    def __init__(self, sentence: Message, *, kind: CheckKind, part_id: int) -> None:
        super().__init__(sentence)
        self.kind = kind
        self.part_id = part_id


@dataclass(frozen=True, slots=True)
class CheckRecord:
    """What was recorded of one check of one part, last; `agreed` is the customer's answer to it.

    `agreed` is None where nobody had to be asked.
    """

    kind: CheckKind
    result: CheckResult
    note: str
    at: datetime
    by: str
    finding_id: int | None
    agreed: bool | None

    @property
    def outcome(self) -> Result | None:
        """The result as the trade has it; None where the office let the part go on without."""
        return check(self.kind).result(self.result)

    @property
    def lets_go_on(self) -> bool:
        """Whether the part may go on: nothing was found, or the customer has agreed."""
        return self.agreed is not False


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check of one part, open as long as it has no record."""

    kind: CheckKind
    part_id: int
    number: int
    set_key: str
    tag: str
    stage: PartStage
    record: CheckRecord | None

    @property
    def row(self) -> Check:
        """What the trade says of the check."""
        return check(self.kind)

    @property
    def open(self) -> bool:
        """Whether no result is recorded."""
        return self.record is None

    @property
    def due(self) -> bool:
        """Whether it is open and can be done where the part stands."""
        since = self.row.since
        return self.open and not (since and self.stage.is_before(PartStage(since)))

    @property
    def stops(self) -> bool:
        """Whether the part may not go on past the check's gate."""
        return self.row.is_gate and (self.record is None or not self.record.lets_go_on)


def kinds_in(
    session: Session, work: Mapping[str, Any], job_id: int, set_key: str
) -> tuple[CheckKind, ...]:
    """Return the checks in `Part.work`; those of an order from before checks were kept, anew."""
    stored = work.get(CHECKS)
    if stored is not None:
        return tuple(map(CheckKind, stored))
    return kinds_anew(session, damage_in(work), job_id, set_key)


def kinds_anew(
    session: Session, damage: tuple[Damage, ...] | None, job_id: int, set_key: str
) -> tuple[CheckKind, ...]:
    """Return the checks that the order asks of a part with this damage; None: all of its set's."""
    declared = session.scalar(sa.select(Job.declared).where(Job.id == job_id))
    every = appraise(read_declared(declared or {}), Practice()).sets
    answer = next((one for one in every if one.part_set.key == set_key), None)
    if answer is None:
        return ()
    return on_part(answer.checks, answer.part_set.damage if damage is None else damage)


def records_of(
    session: Session, part_ids: Iterable[int]
) -> dict[tuple[int, CheckKind], CheckRecord]:
    """Return the last record of each check of these parts; a reopened one has none."""
    found: dict[tuple[int, CheckKind], CheckRecord] = {}
    for row in session.execute(_RECORDS, {"part_ids": list(part_ids)}):
        found.pop((row.part_id, row.kind), None)
        if row.result is not CheckResult.REOPENED:
            agreed = None if row.answer is None else row.answer is FindingAnswer.ACCEPTED
            found[row.part_id, row.kind] = CheckRecord(
                row.kind, row.result, row.note, row.at, row.name or "", row.finding_id, agreed
            )
    return found


def lines_of(session: Session, job_id: int) -> tuple[CheckLine, ...]:
    """Return every check of a job that has results, in the order of work and of the parts."""
    return lines_on(session, parts_of(session, job_id))


def lines_on(session: Session, parts: Sequence[Any]) -> tuple[CheckLine, ...]:
    """Return the checks of these parts, or of rows that have their columns.

    Of parts that nobody works on only what was recorded.
    """
    records = records_of(session, [part.id for part in parts])
    wanted = {
        part.id: ()
        if part.arrived in NOT_WORKED_ON
        else kinds_in(session, part.work, part.job_id, part.set_key)
        for part in parts
    }
    return tuple(
        CheckLine(
            kind,
            part.id,
            part.number,
            part.set_key,
            part.tag or "",
            part.stage,
            records.get((part.id, kind)),
        )
        for kind in CheckKind
        if check(kind).results
        for part in parts
        if kind in wanted[part.id] or (part.id, kind) in records
    )


def closed_before(kind: CheckKind, to: PartStage) -> bool:
    """Tell whether a check, while it is open, keeps parts out of a stage."""
    before = check(kind).before
    return bool(before) and to is not PartStage.GONE and not to.is_before(PartStage(before))


def refuse_if_open(session: Session, part: Part, to: PartStage) -> None:
    """Raise CheckOpen where a check keeps a part out of the stage `to`."""
    for line in lines_on(session, [part]):
        if line.stops and closed_before(line.kind, to):
            sentence = why_open(line.kind, part.number, line.record)
            raise CheckOpen(sentence, kind=line.kind, part_id=part.id)


def stopping(
    session: Session, wanted: Mapping[int, Sequence[CheckKind]]
) -> dict[int, tuple[CheckKind, ...]]:
    """Return the checks that stop each part, by its id, whatever its next station.

    `wanted` has the checks of each part.
    """
    records = records_of(session, [part_id for part_id, kinds in wanted.items() if kinds])

    def stops(part_id: int, kind: CheckKind) -> bool:
        record = records.get((part_id, kind))
        return check(kind).is_gate and (record is None or not record.lets_go_on)

    return {
        part_id: tuple(kind for kind in kinds if stops(part_id, kind))
        for part_id, kinds in wanted.items()
        if kinds
    }


def why_open(kind: CheckKind, number: int, record: CheckRecord | None) -> Message:
    """Return what keeps a part from going on, as a sentence."""
    if record is not None and record.outcome is not None:
        return Message(WAITS.msgid, part=number, result=record.outcome.says)
    still_open = check(kind).still_open
    assert still_open is not None  # a check that stops a part says so
    return Message(still_open.msgid, part=number)


def stop_the_start(session: Session, parts: Sequence[Part]) -> tuple[CheckLine, ...]:
    """Return the checks that must be recorded before work on a job starts."""
    return tuple(
        line for line in lines_on(session, parts) if line.stops and line.row.before == FIRST
    )
