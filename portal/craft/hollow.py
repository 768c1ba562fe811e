"""How a part is built that has no kind of its own, and what in a part can't go into an oven."""

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
    GLUED = "glued", "Rubber, plastic or carbon glued in"
    UNKNOWN = "unknown", "Don't know"
