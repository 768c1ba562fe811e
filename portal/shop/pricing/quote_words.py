"""What the lines of a quote say, each with its reason: whole sentences, in the customer's words."""

from portal.craft.answers import NewPart, RouteKind
from portal.craft.messages import Message
from portal.craft.parts import Damage, Effect, Item, PartKind, System, WheelBuild

WHEEL = Message("Wheel: blasted, powder coated, baked and inspected")
WHEEL_SIZED = Message("{size}-inch wheel: blasted, powder coated, baked and inspected")
WHEEL_WHY = Message(
    "One price for every wheel of this size. It includes the usual masking "
    "(covering what stays bare)."
)
WHEEL_OPEN = Message("The price depends on the rim diameter. Tell us the size to fix it.")
PARTS = {
    PartKind.CALIPER: Message("Brake caliper: blasted, powder coated, baked and inspected"),
    PartKind.BUMPER: Message("Bumper: blasted, powder coated, baked and inspected"),
    PartKind.TUBE: Message("Tube or bar: blasted, powder coated, baked and inspected"),
    PartKind.PLATE: Message("Plate: blasted, powder coated, baked and inspected"),
    PartKind.BOX: Message("Box or cover: blasted, powder coated, baked and inspected"),
    PartKind.RAILING: Message("Railing: blasted, powder coated, baked and inspected"),
    PartKind.FRAME: Message("Frame: blasted, powder coated, baked and inspected"),
    PartKind.CHAIR: Message("Garden chair: blasted, powder coated, baked and inspected"),
    PartKind.TABLE: Message("Garden table: blasted, powder coated, baked and inspected"),
    PartKind.BENCH: Message("Garden bench: blasted, powder coated, baked and inspected"),
    PartKind.OTHER: Message("Metal part: blasted, powder coated, baked and inspected"),
}
PIECE_WHY = Message("One price for every part of this kind.")
BAND_WHY = Message("The price depends on the longest side of the part.")
AREA_WHY = Message("The price depends on the coated area: {area} on each part, both sides.")
SIZE_OPEN = Message("The price depends on the size of the part. Tell us the rough size to fix it.")
FINISH_OPEN = (
    Message("Finish"),
    Message("The price above includes one coat. Two or three coats cost more."),
)
SYSTEMS = {
    System.SINGLE: (Message("Single coat"), Message("Included in the price above.")),
    System.BASE_CLEAR: (
        Message("Clear coat over the colour"),
        Message("A second coat, baked separately."),
    ),
    System.TRANSLUCENT: (
        Message("Bright base and clear coat around a translucent colour"),
        Message(
            "A translucent colour is see-through, so it needs a bright base under it and a "
            "clear coat over it."
        ),
    ),
    System.CHROME_LOOK: (
        Message("Chrome-look base and clear coat"),
        Message("The chrome look is soft, so it needs a clear coat."),
    ),
    System.TEXTURE: (Message("Textured coat"), Message("Textured powder is applied thicker.")),
    System.MACHINED_CLEAR: (
        Message("Diamond-cut face kept, under a clear coat"),
        Message("We mask the bright face, clean it by hand and seal it with a clear coat."),
    ),
}
EFFECTS = {
    Effect.METALLIC: (
        Message("Metallic powder"),
        Message("Metallic powder costs more. We spray it in one go so the flakes lie evenly."),
    ),
    Effect.TRANSLUCENT: (Message("Translucent powder"), Message("This powder costs more.")),
    Effect.CHROME: (Message("Chrome-look powder"), Message("This powder costs more.")),
    Effect.TEXTURE: (Message("Textured powder"), Message("This powder costs more.")),
}
# a line that only some of the colours have that a customer may choose from samples
IF_CHOSEN = Message("Only if you choose such a colour from the samples.")
SECOND = {
    "face": (
        Message("Another colour on the face"),
        Message("A second colour needs masking along an edge, one more coat and one more bake."),
    ),
    "barrel": (
        Message("Another colour inside (on the barrel)"),
        Message("A second colour needs masking along an edge, one more coat and one more bake."),
    ),
}
BUILDS = {
    WheelBuild.MULTI_PIECE: (
        Message("Multi-piece wheel: each piece coated by itself"),
        Message("It comes to us taken apart. A specialist rejoins the pieces afterwards."),
    ),
    WheelBuild.STEEL: (Message("Steel wheel"), Message("We clean the welded seams by hand.")),
    WheelBuild.FORGED: (Message("Forged wheel"), Message("We blast it with a softer grit.")),
}
PRE_BAKE = (
    Message("Pre-bake (drives gas out of the metal)"),
    Message("Cast metal and zinc hold gas that would make bubbles. We bake it out before coating."),
)
PRE_BAKE_OPEN = (
    Message("If the metal is cast: a pre-bake"),
    Message("Cast metal holds gas that would make bubbles. We check the metal first."),
)
MASKING = (
    Message("Masking (covering what stays bare)"),
    Message("We plug or tape threads and sliding faces by hand on each part."),
)
STRIP = {
    RouteKind.PEEL: (
        Message("Peeling off the old wrap or rubber coating by hand"),
        Message("It gums up the stripping bath, and grit bounces off it."),
    ),
    RouteKind.BLAST: (
        Message("Blasting the old finish off"),
        Message("Grit takes it off and leaves a surface that powder grips."),
    ),
    RouteKind.CHEMICAL: (
        Message("Chemical stripping at a partner company"),
        Message("The old finish is too tough to blast off without harming the metal."),
    ),
    RouteKind.LICENSED: (
        Message("Lead paint stripping at a licensed company"),
        Message("The old finish contains lead or chromate. Only a licensed company may strip it."),
    ),
    RouteKind.DEPLATE: (
        Message("Taking off the chrome at a specialist"),
        Message("Powder doesn't hold on chrome, and chrome stripping needs a licence."),
    ),
}
STRIP_UNKNOWN = (
    Message("If there is more old paint than expected"),
    Message(
        "We see the old finish when you bring the parts. If it needs another way of "
        "stripping, we ask you first."
    ),
)
STRIP_CHROME = (
    Message("If they turn out to be chrome-plated"),
    Message("A licensed specialist takes the chrome off. We ask you before we send them there."),
)
TRANSPORT = (
    Message("Transport to the stripping company and back"),
    Message(
        "Chemical stripping is done at a partner company. Transport is charged once per order."
    ),
)
FETCHING = (
    Message("Fetched from you and brought back"),
    Message("We come to you. It is charged once per order."),
)
OLD_COATING = (
    Message("Lead test of an old finish"),
    Message(
        "Finishes from before 1980, and yellow, orange or red paint, can contain lead or chromate. "
        "We test before we touch them."
    ),
)
REPAIRS = {
    Damage.KERB_RASH: (
        Message("Kerb damage smoothed"),
        Message(
            "We see how deep it is after blasting. We don't accept deep damage, and we never "
            "fill it."
        ),
    ),
    Damage.CORROSION: (
        Message("Corrosion ground out"),
        Message("We see after stripping how far it has crept under the old finish."),
    ),
    Damage.BEND: (
        Message("Run-out (wobble) measured"),
        Message("We measure the bend before any work and tell you. We don't straighten parts."),
    ),
    Damage.OLD_WELD: (
        Message("Old repair checked"),
        Message("We check an old weld closely before we do anything else."),
    ),
}
OFF_CAR = (
    Message("Wheel taken off your car and put back on"),
    Message(
        "You bring the whole car. We jack it up, and tighten the wheels to the torque in the "
        "handbook afterwards."
    ),
)
OFF_WHY = Message("This must come off before the part is blasted and baked.")
OFF = {
    Item.TYRE: Message("Tyre taken off"),
    Item.WEIGHTS: Message("Old balance weights and glue removed"),
    Item.VALVE: Message("Valve taken out"),
    Item.SENSOR: Message("Tyre-pressure sensor taken out and kept safe"),
    Item.CENTRE_CAP: Message("Centre cap taken out"),
    Item.LUG_COVERS: Message("Wheel nut caps taken off"),
    Item.SPACERS: Message("Spacers taken off"),
    Item.SPIGOT_RINGS: Message("Centring rings taken out"),
    Item.BADGES: Message("Badges and stickers taken off"),
    Item.BEARINGS: Message("Bearings taken out"),
    Item.SEALS: Message("Seals and hydraulic parts taken out"),
}
ON_NEW_TYRE = (
    Message("Your new tyre fitted and the wheel balanced"),
    Message("You bring new tyres. The old ones go home with you."),
)
ON_WHY = Message("We take it off, so we put it back.")
ON = {
    Item.TYRE: Message("Tyre fitted and the wheel balanced"),
    Item.WEIGHTS: Message("Balance weights fitted"),
    Item.VALVE: Message("Valve fitted"),
    Item.SENSOR: Message("Tyre-pressure sensor fitted again"),
    Item.CENTRE_CAP: Message("Centre cap put back"),
    Item.LUG_COVERS: Message("Wheel nut caps put back"),
    Item.SPACERS: Message("Spacers put back"),
    Item.SPIGOT_RINGS: Message("Centring rings put back"),
    Item.BADGES: Message("Badges put back"),
    Item.BEARINGS: Message("Bearings fitted"),
    Item.SEALS: Message("Seals fitted"),
}
NEW = {
    NewPart.VALVE: Message("New valve"),
    NewPart.SENSOR_SEAL: Message("New seal, washer, nut and core for the sensor"),
    NewPart.CORE: Message("New valve core and cap"),
    NewPart.WEIGHTS: Message("New balance weights"),
    NewPart.SEAL_KIT: Message("New seal kit"),
    NewPart.BADGE: Message("New badge or sticker"),
}
NEW_WHY = {
    NewPart.VALVE: Message("A rubber valve must not be used twice."),
    NewPart.SENSOR_SEAL: Message("These are replaced every time a sensor comes out."),
    NewPart.CORE: Message("A valve core that has been out is replaced."),
    NewPart.WEIGHTS: Message("Old weights are bent, or their glue no longer holds."),
    NewPart.SEAL_KIT: Message("Seals that have been out are replaced."),
    NewPart.BADGE: Message("Old badges rarely come off in one piece."),
}
RUSH = Message("Rush job: your parts go first")
RUSH_WHY = Message("{percent} % extra, because other work waits.")
MINIMUM = Message("Minimum charge")
MINIMUM_WHY = Message("Setting up the booth and oven costs the same even for one small part.")
AGREED = Message("As agreed with you")
AGREED_WHY = Message(
    "You agreed to each change by itself. This line brings the total to the sum you agreed to."
)
ROUNDING = Message("Rounding")
ROUNDING_WHY = Message("Rounded to a whole sum.")
NO_LONGER = Message("No longer needed.")
TAX = Message("{name} on the difference")
TAX_WHY = Message("Our prices don't include it.")

# names of the value-added tax in the languages of its countries, as they stand on receipts
# (from memory)
VALUE_ADDED = frozenset(
    {"vat", "value added tax", "value-added tax", "mwst", "mehrwertsteuer", "ust", "umsatzsteuer"}
    | {"iva", "tva", "btw", "moms", "alv", "pdv", "dph"}
)


def tax_said(name: str) -> Message | str:
    """Return the name of a tax as a sentence of the catalogue; one of no known kind as it is."""
    return Message("VAT") if name.strip().rstrip(".").casefold() in VALUE_ADDED else name
