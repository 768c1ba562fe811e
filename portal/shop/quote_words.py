"""What the lines of a quote say, each with its reason: whole sentences, in the customer's words."""

from portal.craft.answers import NewPart, RouteKind
from portal.craft.parts import Damage, Effect, Item, PartKind, System, WheelBuild
from portal.craft.say import say

WHEEL = say("Wheel: blasted, powder-coated, cured and inspected")
WHEEL_SIZED = say("{size}-inch wheel: blasted, powder-coated, cured and inspected")
WHEEL_WHY = say("The price of every wheel of this size; the usual masking is in it.")
WHEEL_OPEN = say("It goes by the diameter of the rim. Tell us the size and it is fixed.")
PARTS = {
    PartKind.CALIPER: say("Brake caliper: blasted, powder-coated, cured and inspected"),
    PartKind.BUMPER: say("Bumper: blasted, powder-coated, cured and inspected"),
    PartKind.TUBE: say("Tube or bar: blasted, powder-coated, cured and inspected"),
    PartKind.PLATE: say("Plate: blasted, powder-coated, cured and inspected"),
    PartKind.BOX: say("Box or cover: blasted, powder-coated, cured and inspected"),
    PartKind.RAILING: say("Railing: blasted, powder-coated, cured and inspected"),
    PartKind.FRAME: say("Frame: blasted, powder-coated, cured and inspected"),
}
PIECE_WHY = say("One price for every part of this kind.")
BAND_WHY = say("It goes by the longest side of the part.")
AREA_WHY = say("It goes by the coated area: {area} m² on each part, both sides.")
SIZE_OPEN = say("It goes by the size of the part. Tell us its rough size and it is fixed.")
FINISH_OPEN = (
    say("Finish"),
    say("A single coat is in the price above; finishes of two or three coats cost more."),
)
SYSTEMS = {
    System.SINGLE: (say("Single coat"), say("It is in the price above.")),
    System.BASE_CLEAR: (
        say("Clear coat over the colour"),
        say("A second coat, with a bake of its own."),
    ),
    System.TRANSLUCENT: (
        say("Bright base and clear coat around a translucent colour"),
        say("A translucent colour is see-through: it needs a bright base below and a clear coat."),
    ),
    System.CHROME_LOOK: (
        say("Chrome-look base and clear coat"),
        say("The chrome look is soft and needs its own clear coat."),
    ),
    System.TEXTURE: (say("Textured coat"), say("A textured powder is laid on thicker.")),
    System.MACHINED_CLEAR: (
        say("Face kept machined, under a clear coat"),
        say("The bare face is masked, cleaned by hand and sealed with a clear coat."),
    ),
}
EFFECTS = {
    Effect.METALLIC: (
        say("Metallic powder"),
        say("Metallic powder costs more and is sprayed in one go so that the flakes lie evenly."),
    ),
    Effect.TRANSLUCENT: (say("Translucent powder"), say("This powder costs more.")),
    Effect.CHROME: (say("Chrome-look powder"), say("This powder costs more.")),
    Effect.TEXTURE: (say("Textured powder"), say("This powder costs more.")),
}
SECOND = {
    "face": (
        say("Another colour on the face"),
        say("A second colour means masking along an edge and one more coat and bake."),
    ),
    "barrel": (
        say("Another colour in the barrel"),
        say("A second colour means masking along an edge and one more coat and bake."),
    ),
}
BUILDS = {
    WheelBuild.MULTI_PIECE: (
        say("Taking a multi-piece wheel apart and rebuilding it"),
        say("The halves are coated apart, then sealed anew and bolted to the maker's torque."),
    ),
    WheelBuild.STEEL: (say("Steel wheel"), say("The welded seams are cleaned by hand.")),
    WheelBuild.FORGED: (say("Forged wheel"), say("It is blasted with a softer medium.")),
}
PRE_BAKE = (
    say("Pre-bake"),
    say("Castings and zinc hold gas that would blow bubbles; it is driven out before coating."),
)
MASKING = (
    say("Masking of places that stay bare"),
    say("Threads and sliding faces are plugged or taped by hand on each part."),
)
STRIP = {
    RouteKind.PEEL: (
        say("Peeling the old film off by hand"),
        say("A film gums up the stripping bath and throws blasting grit back."),
    ),
    RouteKind.BLAST: (
        say("Blasting the old finish off"),
        say("Grit takes it off and leaves a surface that powder holds on."),
    ),
    RouteKind.CHEMICAL: (
        say("Chemical stripping at an outside tank"),
        say("The old finish is too tough to blast off without harming the metal."),
    ),
    RouteKind.DEPLATE: (
        say("Taking the plating off at a specialist"),
        say("Powder doesn't hold on chrome, and its baths need a licence."),
    ),
}
STRIP_UNKNOWN = (
    say("More old coats than expected"),
    say(
        "We see the old finish on arrival. If it needs another way of stripping, we ask you first."
    ),
)
TRANSPORT = (
    say("Transport to the stripper and back"),
    say("Chemical stripping is done outside; the drive is paid once for each order."),
)
OLD_COATING = (
    say("Test of an old coating for lead"),
    say("Finishes from before 1980 can hold lead or chromate; we test before we touch them."),
)
REPAIRS = {
    Damage.KERB_RASH: (
        say("Kerb rash dressed out"),
        say("How deep it is shows after blasting. Deep damage is refused, never filled."),
    ),
    Damage.CORROSION: (
        say("Corrosion ground out"),
        say("How far it has crept under the old finish shows after stripping."),
    ),
    Damage.BEND: (
        say("Run-out measured"),
        say("We measure the bend before any work and tell you; we don't straighten."),
    ),
    Damage.OLD_WELD: (
        say("Old repair looked at"),
        say("An old weld is looked at closely before anything else is done."),
    ),
}
OFF_CAR = (
    say("Wheel taken off your car and put back"),
    say("You bring the whole car, so we jack it up and torque the wheels to the handbook."),
)
OFF_WHY = say("It has to come off before the part is blasted and baked.")
OFF = {
    Item.TYRE: say("Tyre taken off"),
    Item.WEIGHTS: say("Balance weights taken off and the glue cleaned away"),
    Item.VALVE: say("Valve taken out"),
    Item.SENSOR: say("Tyre-pressure sensor taken out and kept safe"),
    Item.CENTRE_CAP: say("Centre cap taken out"),
    Item.LUG_COVERS: say("Lug covers taken off"),
    Item.SPACERS: say("Spacers taken off"),
    Item.BADGES: say("Badges and stickers taken off"),
    Item.BEARINGS: say("Bearings taken out"),
    Item.SEALS: say("Seals and hydraulics taken out"),
}
ON_WHY = say("We took it off, so we put it back.")
ON = {
    Item.TYRE: say("Tyre fitted and the wheel balanced"),
    Item.WEIGHTS: say("Balance weights set"),
    Item.VALVE: say("Valve fitted"),
    Item.SENSOR: say("Tyre-pressure sensor fitted again"),
    Item.CENTRE_CAP: say("Centre cap put back"),
    Item.LUG_COVERS: say("Lug covers put back"),
    Item.SPACERS: say("Spacers put back"),
    Item.BADGES: say("Badges put back"),
    Item.BEARINGS: say("Bearings fitted"),
    Item.SEALS: say("Seals fitted"),
}
NEW = {
    NewPart.VALVE: say("New valve"),
    NewPart.SENSOR_SEAL: say("New seal, washer, nut and core for the sensor"),
    NewPart.CORE: say("New valve core and cap"),
    NewPart.WEIGHTS: say("New balance weights"),
    NewPart.SEAL_KIT: say("New seal kit"),
    NewPart.BADGE: say("New badge or sticker"),
}
NEW_WHY = {
    NewPart.VALVE: say("A rubber valve is never used twice."),
    NewPart.SENSOR_SEAL: say(
        "The seal, washer, nut and core are replaced whenever a sensor comes out."
    ),
    NewPart.CORE: say("A core that has been out is replaced."),
    NewPart.WEIGHTS: say("Old weights are bent or their glue is spent."),
    NewPart.SEAL_KIT: say("Seals that have been out are replaced."),
    NewPart.BADGE: say("Old badges rarely come off whole."),
}
RUSH = say("Rush: your parts go first")
RUSH_WHY = say("{percent} % on top, because other work waits for yours.")
MINIMUM = say("Up to the smallest charge")
MINIMUM_WHY = say("Setting up booth and oven costs the same for one small part.")
ROUNDING = say("Rounding")
ROUNDING_WHY = say("To a round sum.")
NO_LONGER = say("No longer needed.")
TAX = say("{name} on the difference")
TAX_WHY = say("Our prices are without it.")
