"""Where each wheel sat on its vehicle: what the customer marks, what is noted, what is told.

A tyre that turns one way, or is made for one side, a narrower pair in front, and a sensor that
knows its corner all have to go back to where they were.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from portal.craft.bringing import Whereabouts
from portal.craft.messages import Message
from portal.craft.parts import Bringing, Declared, Item, PartKind, PartSet, Remover
from portal.craft.titled import Titled


class Corner(Titled):
    """Where a wheel sits. Of some only the axle (a motorcycle) or the side (a trailer) counts."""

    FRONT_LEFT = "front_left", "front left"
    FRONT_RIGHT = "front_right", "front right"
    REAR_LEFT = "rear_left", "rear left"
    REAR_RIGHT = "rear_right", "rear right"
    FRONT = "front", "front"
    REAR = "rear", "rear"
    LEFT = "left", "left side"
    RIGHT = "right", "right side"
    SPARE = "spare", "spare wheel"
    UNKNOWN = "unknown", "place not known"


MARK_BEFORE = Message(
    "Before the wheels come off, mark each one: FL, FR, RL or RR (front or rear, left or right as "
    "seen from the driver's seat). Chalk on the tread, or tape inside the rim."
)
MARK_IF_KNOWN = Message(
    "If you know where each wheel goes, mark it: FL, FR, RL or RR (front or rear, left or right as "
    "seen from the driver's seat). Chalk on the tread, or tape inside the rim."
)

AXLES = (Corner.FRONT, Corner.REAR)
FOUR = (Corner.FRONT_LEFT, Corner.FRONT_RIGHT, Corner.REAR_LEFT, Corner.REAR_RIGHT)
# how so many wheels of one set usually stand in a row, to be noted by one press
IN_A_ROW: dict[int, tuple[tuple[Corner, ...], ...]] = {
    1: ((Corner.FRONT,), (Corner.REAR,), (Corner.SPARE,)),
    2: (FOUR[:2], FOUR[2:], (Corner.FRONT, Corner.REAR)),
    4: (FOUR,),
    5: ((*FOUR, Corner.SPARE),),
}
MOST_IN_A_ROW = max(IN_A_ROW)
# what tells which side or axle a wheel belongs to
BOUND_TO_A_CORNER = (Item.TYRE, Item.SENSOR)


@dataclass(frozen=True, slots=True)
class Wheel:
    """A wheel that goes home: its number on the paper tag, its tag and stamp, and its corner.

    `corner` is None where nobody was asked: on orders from before it was noted.
    """

    number: int
    corner: Corner | None = None
    tag: str = ""
    stamp: str = ""

    @property
    def name(self) -> Message:
        """What the wheel is called, by all that stands on it."""
        if self.stamp and self.tag:
            return Message(
                "part {number} (tag {tag}, stamp {stamp})",
                number=self.number,
                tag=self.tag,
                stamp=self.stamp,
            )
        if self.tag:
            return Message("part {number} (tag {tag})", number=self.number, tag=self.tag)
        if self.stamp:
            return Message("part {number} (stamp {stamp})", number=self.number, stamp=self.stamp)
        return Message("part {number}", number=self.number)

    @property
    def known(self) -> bool:
        """Whether its place is known."""
        return self.corner not in (None, Corner.UNKNOWN)


def to_mark(declared: Declared) -> Message | None:
    """Return what asks the customer to mark the corners; None where there is nothing to mark.

    Of a whole car we take the wheels off ourselves; bare rims are off and have no tyres.
    """
    wheels = [one for one in declared.sets if one.kind is PartKind.WHEEL]
    if not wheels or declared.bringing is Bringing.WHOLE_CAR:
        return None
    if declared.whereabouts is Whereabouts.ON_CAR:
        return MARK_BEFORE
    if any(counts(one, declared.bringing) for one in wheels):
        return MARK_IF_KNOWN
    return None


def counts(one: PartSet, bringing: Bringing | None) -> bool:
    """Tell whether the corner of these parts is noted: wheels that we get with tyre or sensor."""
    if one.kind is not PartKind.WHEEL:
        return False
    if bringing is Bringing.WHOLE_CAR:
        return True
    usual = Remover.YOU if bringing is Bringing.BARE else Remover.US
    return any(
        item in one.fitted and one.removers.get(item, usual) is not Remover.YOU
        for item in BOUND_TO_A_CORNER
    )


def twice(noted: Mapping[int, Corner | None]) -> tuple[tuple[Corner, tuple[int, ...]], ...]:
    """Return the places at which more wheels are noted than can sit there, with their numbers.

    `noted` has the wheels of one set by their numbers; eight of them are those of two cars. Axle
    and side alone are shared by several wheels, but on a motorcycle.
    """
    single = FOUR if len(noted) > len(AXLES) else (*FOUR, *AXLES)
    most = max(1, len(noted) // len(FOUR))
    found = {at: tuple(n for n, one in noted.items() if one is at) for at in single}
    return tuple((at, numbers) for at, numbers in found.items() if len(numbers) > most)


def rows_of(count: int) -> tuple[tuple[Corner, ...], ...]:
    """Return the orders in which so many wheels can be noted by one press; the usual one first."""
    if count in IN_A_ROW:
        return IN_A_ROW[count]
    return (FOUR * (count // len(FOUR)),) if count and count % len(FOUR) == 0 else ()
