"""What can hurt a customer on the way to us: lifting a car, and the dust of its brakes."""

from collections.abc import Iterator

from portal.craft.bringing import Whereabouts
from portal.craft.messages import Message
from portal.craft.parts import Bringing, Declared, PartKind

# the order of work that vehicle handbooks share (seen in several); each says the rest itself
LIFTING = Message(
    "Take the wheels off as the vehicle handbook says: level ground, parking brake, chocks, nuts "
    "loosened before lifting, jacking points, axle stands. Never get under a car on its jack."
)
LIFTING_FOR_CALIPERS = Message(
    "If you take the wheels off for it, do it as the vehicle handbook says: level ground, parking "
    "brake, chocks, nuts loosened before lifting, jacking points, axle stands. Never get under a "
    "car on its jack."
)
# OSHA 29 CFR 1910.1001 appendix F: wet methods, no dry brushing, no blowing in the open
BRAKE_DUST = Message(
    "Wash brake dust off with water. Never blow it off or brush it dry: it harms the lungs and can "
    "hold asbestos."
)
_ON_A_JACK = Message("Wheels: follow the vehicle handbook. Never get under a car on its jack.")
# the same on a slip, where a line is all the room there is
IN_A_LINE = {
    LIFTING: _ON_A_JACK,
    LIFTING_FOR_CALIPERS: _ON_A_JACK,
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
    if PartKind.WHEEL in kinds and on_car:
        yield LIFTING
    elif PartKind.CALIPER in kinds:
        yield LIFTING_FOR_CALIPERS
    yield BRAKE_DUST
