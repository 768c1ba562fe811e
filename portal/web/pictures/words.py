"""The text equivalents of the pictures, as a person would describe them."""

from collections.abc import Mapping

from portal.craft.colour_names import ColourName
from portal.craft.facts import face_of
from portal.craft.messages import Message
from portal.craft.parts import PartSet, Powder, System


def wheel_title(part_set: PartSet, powders: Mapping[str, Powder]) -> Message:
    """Return the short name of the picture."""
    powder = _powder(part_set, powders)
    if part_set.finish is None or powder is None:
        return Message("A wheel with no finish yet: {face}", face=face_of(part_set))
    return Message(
        "A wheel in {colour}, {gloss}: {face}",
        colour=ColourName(powder.name),
        gloss=part_set.finish.gloss,
        face=face_of(part_set),
    )


def wheel_says(part_set: PartSet, powders: Mapping[str, Powder]) -> Message:
    """Return the longer text: the coat system and what differs."""
    finish = part_set.finish
    if finish is None:
        return Message("Shown in bare metal.")
    if finish.system is System.MACHINED_CLEAR:
        return Message(
            "The face is diamond cut (bright metal) under a clear coat. The rest is in colour."
        )
    barrel = powders.get(finish.barrel) if finish.barrel else None
    face = powders.get(finish.face) if finish.face else None
    if face and barrel:
        return Message(
            "The face is {face}, the inside {barrel}.",
            face=ColourName(face.name),
            barrel=ColourName(barrel.name),
        )
    if barrel:
        return Message("The inside is {barrel}.", barrel=ColourName(barrel.name))
    if face:
        return Message("The face is {face}.", face=ColourName(face.name))
    return Message("{system}.", system=finish.system)


def part_title(part_set: PartSet, powders: Mapping[str, Powder]) -> Message:
    """Return the short name of a drawing of another part."""
    powder = _powder(part_set, powders)
    if part_set.finish is None or powder is None:
        return Message("{kind}, without a finish yet", kind=part_set.kind)
    return Message(
        "{kind} in {colour}, {gloss}",
        kind=part_set.kind,
        colour=ColourName(powder.name),
        gloss=part_set.finish.gloss,
    )


def _powder(part_set: PartSet, powders: Mapping[str, Powder]) -> Powder | None:
    return powders.get(part_set.finish.colour) if part_set.finish else None
