"""What can hurt a customer on the way to us: lifting a car, and the dust of its brakes."""

from collections.abc import Iterator

from portal.craft.bringing import Whereabouts
from portal.craft.messages import Message
from portal.craft.parts import Bringing, Declared, PartKind

# the order of work that vehicle handbooks share (seen in several); each says the rest itself
LIFTING = Message(
    "When you take a wheel off, follow the vehicle handbook: level ground, parking brake, chocks, "
    "nuts loosened before lifting, jack at the jacking points, axle stands. Never get under a car "
    "that stands only on its jack."
)
# OSHA 29 CFR 1910.1001 appendix F: wet methods, no dry brushing, no blowing in the open
BRAKE_DUST = Message(
    "Wash brake dust off with water. Never blow it off or brush it dry: it harms the lungs, and "
    "old brakes can hold asbestos."
)
# the same on a slip, where a line is all the room there is
IN_A_LINE = {
    LIFTING: Message("Wheels: follow the vehicle handbook. Never get under a car on its jack."),
    BRAKE_DUST: Message("Brake dust: wash it off. Never blow it off or brush it dry."),
}


def safe_errands(declared: Declared) -> tuple[Message, ...]:
    """Return the cautions for what the customer does with car, wheels and brakes; maybe none."""
    return tuple(_cautions(declared))


def _cautions(declared: Declared) -> Iterator[Message]:
    kinds = {one.kind for one in declared.sets}
    if declared.bringing is Bringing.WHOLE_CAR or not kinds & {PartKind.WHEEL, PartKind.CALIPER}:
        return
    on_car = declared.whereabouts in (None, Whereabouts.ON_CAR)
    if PartKind.CALIPER in kinds or on_car:
        yield LIFTING
    yield BRAKE_DUST
