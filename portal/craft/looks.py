"""Words for how a coating looks and what it is used for."""

from portal.craft.titled import Titled


class Gloss(Titled):
    """Gloss bands at 60°, in gloss units; the shop's own numbers stand in craft.finishes."""

    MATT = "matt", "Matt"
    SATIN = "satin", "Satin"
    GLOSS = "gloss", "Gloss"
    HIGH_GLOSS = "high_gloss", "High gloss"


class Effect(Titled):
    """How a powder looks beyond its colour."""

    SOLID = "solid", "Plain colour"
    METALLIC = "metallic", "Metallic"
    TRANSLUCENT = "translucent", "Translucent (see-through)"
    TEXTURE = "texture", "Fine texture"
    CHROME = "chrome", "Chrome look"
    CLEAR = "clear", "Clear"


class CoatRole(Titled):
    """What a coat does in a finish."""

    BASE = "base", "Bright base coat"
    COLOUR = "colour", "Colour coat"
    BARREL = "barrel", "Colour coat, inside (barrel)"
    FACE = "face", "Colour coat, face"
    CLEAR = "clear", "Clear coat"


class Usage(Titled):
    """How the parts will be used: it changes the advice, never the choices."""

    EVERYDAY = "everyday", "Everyday"
    WINTER = "winter", "Winter, road salt"
    OFF_ROAD = "off_road", "Gravel, off-road"
    SHOW = "show", "Shows"
