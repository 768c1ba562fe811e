"""What is refused of an oven load, what needs a yes of its own, and in which words."""

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from portal.craft.bakes import Bake, Fit, Schedule, fit
from portal.craft.heat import REFERENCE_C
from portal.craft.heat_sum import Baked
from portal.craft.messages import Message
from portal.craft.quantities import celsius
from portal.orders.kernel.errors import Refused
from portal.orders.production.part_heat import PartHeat
from portal.shop.scheduling.oven_loads import Waiting
from portal.shop.scheduling.stations import Oven

NO_ROOM = Message(
    "Tick each part that goes in all the same. After this load it can't take the heat of the coats "
    "that are still to come."
)


@dataclass(frozen=True, slots=True)
class Remark:
    """A part that a load does not suit as planned, and why; it goes in with a yes of its own."""

    part_id: int
    name: Message
    says: Message


class NeedsYes(Refused):
    """Parts of a load must be agreed to one by one."""

    def __init__(self, remarks: tuple[Remark, ...]) -> None:
        sentence = Message(
            "This load is not what these parts were planned for. Tick each of them, or change "
            "the load: {parts}",
            parts=tuple(one.name for one in remarks),
        )
        super().__init__(sentence, key="yes")
        self.remarks = remarks


def check_oven(oven: Oven, bake: Baked) -> None:
    """Refuse what no oven load can be."""
    if bake.minutes < 1:
        raise Refused(Message("Enter the minutes at temperature."), key="minutes")
    if bake.set_point_c < 1:
        raise Refused(Message("Enter the temperature to set."), key="set_point_c")
    if bake.set_point_c > oven.hottest_c:
        raise Refused(
            Message(
                "Enter less: our oven reaches {hottest} at most.", hottest=celsius(oven.hottest_c)
            ),
            key="set_point_c",
        )


def remarks_on(
    waiting: Sequence[Waiting],
    heats: dict[int, PartHeat],
    bake: Baked,
    *,
    apart_c: float = 0.0,
) -> tuple[Remark, ...]:
    """Return what needs a yes. Refuse what is outside the window of a powder, or too much heat."""
    remarks: list[Remark] = []
    for one in waiting:
        heat = heats[one.part_id]
        match fit(one.bake, bake.set_point_c, bake.minutes, apart_c=apart_c):
            case Fit.SHORT:
                raise _short(heat, one.bake, bake)
            case Fit.PAST:
                raise _past(heat, one.bake, bake)
            case Fit.OVER:
                remarks.append(Remark(one.part_id, name_of(heat), _over(one.bake)))
            case Fit.SUITS:
                pass
    refuse_too_hot((heats[one.part_id] for one in waiting), bake)
    full = [heats[one.part_id] for one in waiting if _fills_up(one, heats[one.part_id], bake)]
    return (*remarks, *(Remark(heat.part_id, name_of(heat), NO_ROOM) for heat in full))


def check_yes(remarks: tuple[Remark, ...], said_yes: Collection[int]) -> None:
    """Raise NeedsYes for the parts that nobody agreed to."""
    missing = tuple(one for one in remarks if one.part_id not in said_yes)
    if missing:
        raise NeedsYes(missing)


def refuse_too_hot(heats: Iterable[PartHeat], *more: Baked) -> None:
    """Refuse bakes that take parts beyond their limit, naming parts and figures."""
    over = tuple(_figures(one, *more) for one in heats if not one.bears(*more))
    if over:
        raise Refused(
            Message(
                "Leave these parts out. It is too much heat for aluminium, in minutes at {heat}: "
                "{parts}. More is possible only with the maker's permission, which the office "
                "records.",
                heat=celsius(REFERENCE_C),
                parts=over,
            ),
            key="heat",
        )


def refuse_rework(heat: PartHeat, bakes: Sequence[Schedule]) -> None:
    """Refuse to send a part back when the bakes that follow don't fit under its limit."""
    refuse_too_hot([heat], *(Baked(one.set_point_c, one.minutes) for one in bakes))


def closing_remark(
    heat: PartHeat, planned: Schedule, bake: Baked, *, apart_c: float
) -> Message | None:
    """Return what inspection must know of a bake as it really was; None when it suits."""
    found = fit(planned, bake.set_point_c, bake.minutes, apart_c=apart_c)
    if found not in (Fit.SHORT, Fit.PAST):
        return None
    return Message(
        "{name} ({planned_c}, {planned} min planned; {real_c}, {real} min in the oven)",
        name=name_of(heat),
        planned_c=celsius(planned.set_point_c),
        planned=planned.whole_min,
        real_c=celsius(bake.set_point_c),
        real=math.floor(bake.minutes),
    )


def name_of(heat: PartHeat) -> Message:
    """Return how a part is called on the floor: by its tag where it has one."""
    if heat.tag:
        return Message("Tag {tag}", tag=heat.tag)
    return Message("Part {part}", part=heat.number)


def _fills_up(one: Waiting, heat: PartHeat, bake: Baked) -> bool:
    """Whether the coats that are still to come don't fit under the limit after this load."""
    behind = one.work.cures if one.bake.bake is Bake.PRE_BAKE else one.work.cures[one.coat + 1 :]
    coming = [Baked(cure.cure_c, cure.minutes) for cure in behind]
    return bool(coming) and not heat.bears(bake, *coming)


def _figures(heat: PartHeat, *more: Baked) -> Message:
    return Message(
        "{name} ({so_far} so far, {after} with it, limit {limit})",
        name=name_of(heat),
        so_far=math.ceil(heat.so_far),
        after=math.ceil(heat.after(*more)),
        limit=math.floor(heat.limit or 0),
    )


def _over(planned: Schedule) -> Message:
    return Message(
        "Tick each part that goes in all the same. Planned are {planned_c} and {planned} min "
        "({bake}).",
        planned_c=celsius(planned.set_point_c),
        planned=planned.whole_min,
        bake=planned.bake,
    )


def _short(heat: PartHeat, planned: Schedule, bake: Baked) -> Refused:
    key = "set_point_c" if bake.set_point_c < planned.set_point_c else "minutes"
    return Refused(
        Message(
            "Enter at least {planned_c} and {planned} min: {name} needs that ({bake}).",
            name=name_of(heat),
            planned_c=celsius(planned.set_point_c),
            planned=planned.whole_min,
            bake=planned.bake,
        ),
        key=key,
    )


def _past(heat: PartHeat, planned: Schedule, bake: Baked) -> Refused:
    key = "minutes" if bake.minutes > planned.whole_min else "set_point_c"
    values = {
        "name": name_of(heat),
        "planned_c": celsius(planned.set_point_c),
        "planned": planned.whole_min,
    }
    if planned.bake is Bake.GEL:
        return Refused(
            Message(
                "Enter {planned_c} and {planned} min. The base coat of {name} must not cure "
                "fully: the next coat won't hold on it.",
                **values,
            ),
            key=key,
        )
    return Refused(
        Message(
            "Enter less heat. {name} needs {planned_c} for {planned} min; more than twice that "
            "dulls the coat and makes it brittle.",
            **values,
        ),
        key=key,
    )
