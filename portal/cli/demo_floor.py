"""Brings a demo job through the house, verb after verb, as the counter and the floor do."""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import timedelta

import sqlalchemy as sa

from portal.craft.corners import FOUR
from portal.craft.declared import read_declared
from portal.craft.inspection import spots_needed
from portal.craft.parts import Damage
from portal.orders.counter import bags, check_in, checks, corners, findings, hand_back
from portal.orders.kernel.checks import closed_before, lines_of
from portal.orders.kernel.job_lock import last_event, parts_of
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.transitions import plan_of_row
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.kernel.work_card import read_card
from portal.orders.production import floor, inspecting, oven, strip_runs
from portal.shop.pricing.differences import Difference
from portal.shop.route import FIRST, INSPECTION, OUTSIDE, OVEN, PartStage, next_stage
from portal.shop.scheduling.oven_loads import propose
from portal.shop.states import PaymentMethod
from portal.store.tables import (
    HardwareBag,
    Job,
    OvenLoad,
    OvenLoadPart,
    Part,
    StripRun,
    StripRunPart,
    Tag,
)

AT_THE_END = {"ready": PartStage.DONE, "handed_back": PartStage.DONE}
EARLY = "The demo's clock runs in steps."
# readings lie around the middle of the film that the plan asks for, in µm
SPREAD = (-6.0, 3.0, 0.0, 7.0, -2.0)
AROUND = (-1.0, 0.0, 2.0)

Step = Callable[[], None]


class DemoFloor:
    """The verbs of counter and floor, done by one person."""

    def __init__(self, unit: UnitOfWork, who: int) -> None:
        self._unit = unit
        self._who = who
        self._once = itertools.count(1)

    def steps(self, job_id: int, reach: str, *, finding: str, adds: str) -> list[Step]:
        """Return what happens to a job after its drop-off until it is as far as `reach`."""
        steps: list[Step] = [lambda: self._receive(job_id, finding=finding, adds=adds)]
        if reach == "waiting":
            return steps
        target = AT_THE_END.get(reach) or PartStage(reach)
        steps += [lambda: self._advance(job_id, target)] * self._length(job_id, target)
        if reach in AT_THE_END:
            steps.append(lambda: hand_back.make_ready(self._unit, job_id, who=self._who))
        if reach == "handed_back":
            steps.append(lambda: self._hand_back(job_id))
        return steps

    def _length(self, job_id: int, target: PartStage) -> int:
        """Return how many steps it takes; a strip run and an oven load are two steps more each."""
        longest = 0
        for part in self._parts(job_id):
            way = plan_of_row(part).stages()
            passed = [stage for stage in way if not target.is_before(stage)]
            slow = (2 * stage.leaves_the_house + stage.is_batch for stage in passed)
            longest = max(longest, len(passed) + sum(slow))
        return longest

    def _parts(self, job_id: int) -> list[Part]:
        with self._unit.read() as session:
            return list(
                session.scalars(sa.select(Part).where(Part.job_id == job_id).order_by(Part.number))
            )

    def _token(self) -> str:
        return f"demo-floor-{next(self._once)}"

    def _last_event_id(self, job_id: int) -> int:
        with self._unit.read() as session:
            return last_event(session, job_id)

    def _receive(self, job_id: int, *, finding: str, adds: str) -> None:
        unit, who = self._unit, self._who
        if adds:
            self._find(job_id, finding, Damage(adds))
        check_in.as_declared(unit, job_id, who=who)
        for tag in self._free_tags(len(self._parts(job_id))):
            check_in.give_tag(unit, job_id, tag, who=who)
        self._note_corners(job_id)
        if any(part.needs_refit for part in self._parts(job_id)):
            bags.add_bag(unit, job_id, "4 sensors, 4 centre caps, 20 bolts", who=who)
        self._check(job_id, [part.id for part in self._parts(job_id)], FIRST)
        check_in.receive(
            unit,
            job_id,
            expected_event_id=self._last_event_id(job_id),
            once_token=self._token(),
            who=who,
        )

    def _note_corners(self, job_id: int) -> None:
        with self._unit.read() as session:
            job = session.get_one(Job, job_id)
            numbers = corners.corner_not_noted(job, parts_of(session, job_id))
        noted = dict(zip(numbers, itertools.cycle(FOUR), strict=False))
        corners.note_corners(self._unit, job_id, noted, who=self._who)

    def _find(self, job_id: int, says: str, damage: Damage) -> None:
        with self._unit.read() as session:
            job = session.get_one(Job, job_id)
            first = read_declared(job.declared).sets[0]
        arrived = replace(first, count=2, damage=(*first.damage, damage), note=says)
        found = Difference(first.key, (2, 3), arrived, note=says)
        findings.raise_finding(
            self._unit,
            job_id,
            found,
            expected_event_id=self._last_event_id(job_id),
            once_token=self._token(),
            who=self._who,
        )

    def _free_tags(self, count: int) -> Sequence[str]:
        with self._unit.read() as session:
            worn = sa.select(Part.tag).where(Part.tag.is_not(None))
            free = sa.select(Tag.number).where(Tag.number.not_in(worn), Tag.retired.is_(False))
            return list(session.scalars(free.order_by(Tag.number).limit(count)))

    def _advance(self, job_id: int, target: PartStage) -> None:
        """Move every part of the job that is not there yet by one step."""
        behind = [p for p in self._parts(job_id) if p.stage.is_before(target)]
        # a part with a second coat goes back from cure to coat, which stands before it
        behind += [
            p
            for p in self._parts(job_id)
            if p.stage is target and target.ends_coat and p.coats_done == 0 and p.coats > 1
        ]
        by_stage: dict[PartStage, list[Part]] = {}
        for part in behind:
            by_stage.setdefault(part.stage, []).append(part)
        for stage, parts in by_stage.items():
            self._step(stage, parts)
        if any(stage.leaves_bare for stage in by_stage):
            self._coat_at_once(job_id, target)
        if target is OUTSIDE:
            self._gather_and_send([p for p in self._parts(job_id) if p.stage is target])

    def _coat_at_once(self, job_id: int, target: PartStage) -> None:
        """Coat what has just been blasted: bare metal does not wait for the next step."""
        bare = [
            part
            for part in self._parts(job_id)
            if part.stage.uses_powder and not part.coats_done and part.stage.is_before(target)
        ]
        if bare:
            self._step(bare[0].stage, bare)

    def _step(self, stage: PartStage, parts: list[Part]) -> None:
        if stage is OUTSIDE:
            self._back_from_strip(parts)
        elif stage is OVEN:
            self._bake(parts)
        elif stage is INSPECTION:
            for part in parts:
                self._inspect(part)
        else:
            groups: dict[PartStage | None, list[int]] = {}
            for part in parts:
                to = next_stage(stage, plan_of_row(part), part.coats_done)
                groups.setdefault(to, []).append(part.id)
            for to, ids in groups.items():
                if to is not None:
                    self._check(parts[0].job_id, ids, to)
                    floor.move_on(self._unit, ids, to=to, who=self._who)

    def _check(self, job_id: int, part_ids: Sequence[int], to: PartStage) -> None:
        """Record the tests that come before a station; none of them finds anything."""
        while True:
            with self._unit.read() as session:
                lines = [
                    line
                    for line in lines_of(session, job_id)
                    if line.open and line.part_id in part_ids and closed_before(line.kind, to)
                ]
            if not lines:
                return
            first = lines[0]
            together = [
                line.part_id
                for line in lines
                if (line.kind, line.set_key) == (first.kind, first.set_key)
            ]
            checks.record_check(
                self._unit,
                job_id,
                first.kind,
                next(one.key for one in first.row.results if not one.positive),
                together,
                once_token=self._token(),
                who=self._who,
            )

    def _gather_and_send(self, parts: list[Part]) -> None:
        """Put parts that wait for the stripper into the open run, then let it leave."""
        if not parts:
            return
        run_id, state = self._run_of(parts[0].id)
        if run_id is None:
            run_id = self._open_run()
            for part in parts:
                strip_runs.gather(self._unit, run_id, part.tag or "", who=self._who)
        elif state == "gathering":
            strip_runs.send(self._unit, run_id, who=self._who)

    def _back_from_strip(self, parts: list[Part]) -> None:
        run_id, state = self._run_of(parts[0].id)
        if run_id is None or state == "gathering":
            self._gather_and_send(parts)
            return
        ids = [part.id for part in parts]
        to = next_stage(OUTSIDE, plan_of_row(parts[0]), parts[0].coats_done)
        if to is not None:
            self._check(parts[0].job_id, ids, to)
        for part in parts:
            strip_runs.count_back(self._unit, run_id, part.tag or "", who=self._who)

    def _run_of(self, part_id: int) -> tuple[int | None, str]:
        with self._unit.read() as session:
            row = session.execute(
                sa.select(StripRun.id, StripRun.state)
                .join(StripRunPart, StripRunPart.run_id == StripRun.id)
                .where(StripRunPart.part_id == part_id, StripRun.state != "back")
            ).first()
        return (row.id, row.state) if row else (None, "")

    def _open_run(self) -> int:
        with self._unit.read() as session:
            gathering = sa.select(StripRun.id).where(StripRun.state == "gathering")
            found = session.scalars(gathering).first()
            here = self._unit.shop(session).week.local(self._unit.now()).date()
        if found is not None:
            return found
        return strip_runs.open_run(self._unit, here, here + timedelta(days=2), who=self._who)

    def _bake(self, parts: list[Part]) -> None:
        """Start loads with these parts as planned, or close those that they are in."""
        running = {n for part in parts if (n := self._load_of(part.id)) is not None}
        for load_id in running:
            self._close(load_id)
        if running:
            return
        with self._unit.read() as session:
            plan = self._unit.shop(session).stations.oven
        for load in propose([oven.waiting_of(part) for part in parts], plan):
            oven.start_load(
                self._unit,
                load.part_ids,
                set_point_c=load.set_point_c,
                minutes=load.minutes,
                once_token=self._token(),
                who=self._who,
            )

    def _close(self, load_id: int) -> None:
        """Close a load; the demo's clock runs in steps, so the planned minutes are stated."""
        with self._unit.read() as session:
            load = session.get_one(OvenLoad, load_id)
        over = self._unit.now() - load.started_at >= timedelta(minutes=load.minutes)
        oven.close_load(
            self._unit,
            load_id,
            early_because="" if over else EARLY,
            baked_min=load.minutes if over else None,
            who=self._who,
        )

    def _load_of(self, part_id: int) -> int | None:
        with self._unit.read() as session:
            return session.scalars(
                sa.select(OvenLoad.id)
                .join(OvenLoadPart, OvenLoadPart.load_id == OvenLoad.id)
                .where(OvenLoadPart.part_id == part_id, OvenLoad.closed_at.is_(None))
            ).first()

    def _inspect(self, part: Part) -> None:
        card = read_card(part.work)
        middle = sum(card.film_um) / 2
        spots = [[middle + off + way for way in AROUND] for off in SPREAD]
        inspecting.inspect(
            self._unit,
            part.id,
            tuple(tuple(spot) for spot in spots * (spots_needed(card.area_m2) // len(spots))),
            looked=inspecting.Looked(looks_good=True, adhesion_class=None if card.textured else 0),
            once_token=self._token(),
            who=self._who,
        )

    def _hand_back(self, job_id: int) -> None:
        with self._unit.read() as session:
            job = session.get_one(Job, job_id)
            account = account_of(session, job_id)
        bags = self._bags(job_id)
        given = hand_back.HandBack(
            pickup_code=job.pickup_code,
            parts=[p.number for p in self._parts(job_id)],
            bags=bags,
            paid_minor=0 if account.monthly else account.to_pay.minor,
            how=None if account.monthly else PaymentMethod.CARD,
        )
        hand_back.hand_back(
            self._unit,
            job_id,
            given,
            expected_event_id=self._last_event_id(job_id),
            once_token=self._token(),
            who=self._who,
        )

    def _bags(self, job_id: int) -> list[str]:
        with self._unit.read() as session:
            query = sa.select(HardwareBag.label).where(HardwareBag.job_id == job_id)
            return list(session.scalars(query))
