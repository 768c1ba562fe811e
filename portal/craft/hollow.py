"""How a part is built that has no kind of its own, and what in a part can't go into an oven."""

from portal.craft.messages import Message
from portal.craft.titled import Titled


class Making(Titled):
    """How a part that isn't a wheel is built, as a customer can tell."""

    SHEET = "sheet", "Sheet metal"
    TUBES = "tubes", "Tubes or bars"
    CASTING = "casting", "Cast or solid"
    UNKNOWN = "unknown", "Don't know"


class Closed(Titled):
    """What can't go into an oven as it is: closed, under pressure, explosive, or glued in."""

    NONE = "none", "None of these"
    TANK = "tank", "A tank, drum or bottle"
    PRESSURE = "pressure", "A gas strut or shock absorber"
    AIRBAG = "airbag", "An airbag or belt-tensioner part"
    SEALED_TUBE = "sealed_tube", "A tube or hollow part closed all round"
    SPRING = "spring", "A coil spring or anti-roll bar"
    GLUED = "glued", "Glued tubes or lugs; rubber, plastic or carbon glued in"
    UNKNOWN = "unknown", "Don't know"


# what the customer does about it before the part comes to us
BEFORE_YOU_COME = {
    Closed.TANK: Message("Tank: take all valves out and bring the gas-free certificate."),
    Closed.PRESSURE: Message("Take off the gas strut or shock absorber."),
    Closed.SEALED_TUBE: Message("Have a vent hole drilled in each closed hollow part."),
    Closed.SPRING: Message(
        "Have a workshop take coil springs out with a spring compressor. Keep acid and rust "
        "remover away from springs and bars."
    ),
    Closed.GLUED: Message("Have glued-in rubber, plastic and carbon taken out."),
}
LEAVE_OLD_PAINT = Message("Don't sand or scrape the old paint. Wrap the parts for the journey.")
