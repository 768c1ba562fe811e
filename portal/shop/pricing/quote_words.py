"""What the lines of a quote say, each with its reason: whole sentences, in the customer's words."""

from portal.craft.answers import NewPart, RouteKind
from portal.craft.parts import Damage, Effect, Item, PartKind, System, WheelBuild
from portal.craft.say import say

WHEEL = say("Wheel: blasted, powder coated, baked and inspected")
WHEEL_SIZED = say("{size}-inch wheel: blasted, powder coated, baked and inspected")
WHEEL_WHY = say(
    "One price for every wheel of this size. It includes the usual masking "
    "(covering what stays bare)."
)
WHEEL_OPEN = say("The price depends on the rim diameter. Tell us the size to fix it.")
PARTS = {
    PartKind.CALIPER: say("Brake caliper: blasted, powder coated, baked and inspected"),
    PartKind.BUMPER: say("Bumper: blasted, powder coated, baked and inspected"),
    PartKind.TUBE: say("Tube or bar: blasted, powder coated, baked and inspected"),
    PartKind.PLATE: say("Plate: blasted, powder coated, baked and inspected"),
    PartKind.BOX: say("Box or cover: blasted, powder coated, baked and inspected"),
    PartKind.RAILING: say("Railing: blasted, powder coated, baked and inspected"),
    PartKind.FRAME: say("Frame: blasted, powder coated, baked and inspected"),
    PartKind.CHAIR: say("Garden chair: blasted, powder coated, baked and inspected"),
    PartKind.TABLE: say("Garden table: blasted, powder coated, baked and inspected"),
    PartKind.BENCH: say("Garden bench: blasted, powder coated, baked and inspected"),
    PartKind.OTHER: say("Metal part: blasted, powder coated, baked and inspected"),
}
PIECE_WHY = say("One price for every part of this kind.")
BAND_WHY = say("The price depends on the longest side of the part.")
AREA_WHY = say("The price depends on the coated area: {area} m² on each part, both sides.")
SIZE_OPEN = say("The price depends on the size of the part. Tell us the rough size to fix it.")
FINISH_OPEN = (
    say("Finish"),
    say("The price above includes one coat. Two or three coats cost more."),
)
SYSTEMS = {
    System.SINGLE: (say("Single coat"), say("Included in the price above.")),
    System.BASE_CLEAR: (
        say("Clear coat over the colour"),
        say("A second coat, baked separately."),
    ),
    System.TRANSLUCENT: (
        say("Bright base and clear coat around a translucent colour"),
        say(
            "A translucent colour is see-through, so it needs a bright base under it and a "
            "clear coat over it."
        ),
    ),
    System.CHROME_LOOK: (
        say("Chrome-look base and clear coat"),
        say("The chrome look is soft, so it needs a clear coat."),
    ),
    System.TEXTURE: (say("Textured coat"), say("Textured powder is applied thicker.")),
    System.MACHINED_CLEAR: (
        say("Diamond-cut face kept, under a clear coat"),
        say("We mask the bright face, clean it by hand and seal it with a clear coat."),
    ),
}
EFFECTS = {
    Effect.METALLIC: (
        say("Metallic powder"),
        say("Metallic powder costs more. We spray it in one go so the flakes lie evenly."),
    ),
    Effect.TRANSLUCENT: (say("Translucent powder"), say("This powder costs more.")),
    Effect.CHROME: (say("Chrome-look powder"), say("This powder costs more.")),
    Effect.TEXTURE: (say("Textured powder"), say("This powder costs more.")),
}
# a line that only some of the colours have that a customer may choose from samples
IF_CHOSEN = say("Only if you choose such a colour from the samples.")
SECOND = {
    "face": (
        say("Another colour on the face"),
        say("A second colour needs masking along an edge, one more coat and one more bake."),
    ),
    "barrel": (
        say("Another colour inside (on the barrel)"),
        say("A second colour needs masking along an edge, one more coat and one more bake."),
    ),
}
BUILDS = {
    WheelBuild.MULTI_PIECE: (
        say("Multi-piece wheel: taking it apart and rebuilding it"),
        say("We coat the halves separately, reseal them and bolt them to the maker's torque."),
    ),
    WheelBuild.STEEL: (say("Steel wheel"), say("We clean the welded seams by hand.")),
    WheelBuild.FORGED: (say("Forged wheel"), say("We blast it with a softer grit.")),
}
PRE_BAKE = (
    say("Pre-bake (drives gas out of the metal)"),
    say("Cast metal and zinc hold gas that would make bubbles. We bake it out before coating."),
)
MASKING = (
    say("Masking (covering what stays bare)"),
    say("We plug or tape threads and sliding faces by hand on each part."),
)
STRIP = {
    RouteKind.PEEL: (
        say("Peeling off the old wrap or rubber coating by hand"),
        say("It gums up the stripping bath, and grit bounces off it."),
    ),
    RouteKind.BLAST: (
        say("Blasting the old finish off"),
        say("Grit takes it off and leaves a surface that powder grips."),
    ),
    RouteKind.CHEMICAL: (
        say("Chemical stripping at a partner company"),
        say("The old finish is too tough to blast off without harming the metal."),
    ),
    RouteKind.DEPLATE: (
        say("Taking off the chrome at a specialist"),
        say("Powder doesn't hold on chrome, and chrome stripping needs a licence."),
    ),
}
STRIP_UNKNOWN = (
    say("If there is more old paint than expected"),
    say(
        "We see the old finish when you bring the parts. If it needs another way of "
        "stripping, we ask you first."
    ),
)
STRIP_CHROME = (
    say("If they turn out to be chrome-plated"),
    say("A licensed specialist takes the chrome off. We ask you before we send them there."),
)
TRANSPORT = (
    say("Transport to the stripping company and back"),
    say("Chemical stripping is done at a partner company. Transport is charged once per order."),
)
OLD_COATING = (
    say("Lead test of an old finish"),
    say("Finishes from before 1980 can contain lead or chromate. We test before we touch them."),
)
REPAIRS = {
    Damage.KERB_RASH: (
        say("Kerb damage smoothed"),
        say(
            "We see how deep it is after blasting. We don't accept deep damage, and we never "
            "fill it."
        ),
    ),
    Damage.CORROSION: (
        say("Corrosion ground out"),
        say("We see after stripping how far it has crept under the old finish."),
    ),
    Damage.BEND: (
        say("Run-out (wobble) measured"),
        say("We measure the bend before any work and tell you. We don't straighten parts."),
    ),
    Damage.OLD_WELD: (
        say("Old repair checked"),
        say("We check an old weld closely before we do anything else."),
    ),
}
OFF_CAR = (
    say("Wheel taken off your car and put back on"),
    say(
        "You bring the whole car. We jack it up, and tighten the wheels to the torque in the "
        "handbook afterwards."
    ),
)
OFF_WHY = say("This must come off before the part is blasted and baked.")
OFF = {
    Item.TYRE: say("Tyre taken off"),
    Item.WEIGHTS: say("Old balance weights and glue removed"),
    Item.VALVE: say("Valve taken out"),
    Item.SENSOR: say("Tyre-pressure sensor taken out and kept safe"),
    Item.CENTRE_CAP: say("Centre cap taken out"),
    Item.LUG_COVERS: say("Wheel nut caps taken off"),
    Item.SPACERS: say("Spacers taken off"),
    Item.BADGES: say("Badges and stickers taken off"),
    Item.BEARINGS: say("Bearings taken out"),
    Item.SEALS: say("Seals and hydraulic parts taken out"),
}
ON_NEW_TYRE = (
    say("Your new tyre fitted and the wheel balanced"),
    say("You bring new tyres. The old ones go home with you."),
)
ON_WHY = say("We take it off, so we put it back.")
ON = {
    Item.TYRE: say("Tyre fitted and the wheel balanced"),
    Item.WEIGHTS: say("Balance weights fitted"),
    Item.VALVE: say("Valve fitted"),
    Item.SENSOR: say("Tyre-pressure sensor fitted again"),
    Item.CENTRE_CAP: say("Centre cap put back"),
    Item.LUG_COVERS: say("Wheel nut caps put back"),
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
    NewPart.VALVE: say("A rubber valve must not be used twice."),
    NewPart.SENSOR_SEAL: say("These are replaced every time a sensor comes out."),
    NewPart.CORE: say("A valve core that has been out is replaced."),
    NewPart.WEIGHTS: say("Old weights are bent, or their glue no longer holds."),
    NewPart.SEAL_KIT: say("Seals that have been out are replaced."),
    NewPart.BADGE: say("Old badges rarely come off in one piece."),
}
RUSH = say("Rush job: your parts go first")
RUSH_WHY = say("{percent} % extra, because other work waits.")
MINIMUM = say("Minimum charge")
MINIMUM_WHY = say("Setting up the booth and oven costs the same even for one small part.")
AGREED = say("As agreed with you")
AGREED_WHY = say(
    "You agreed to each change by itself. This line brings the total to the sum you agreed to."
)
ROUNDING = say("Rounding")
ROUNDING_WHY = say("Rounded to a whole sum.")
NO_LONGER = say("No longer needed.")
TAX = say("{name} on the difference")
TAX_WHY = say("Our prices don't include it.")
