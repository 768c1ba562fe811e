"""What sets and their parts are called: one name for one set, the same wherever it is told.

A name is a message: its words, sizes and counts are rendered where it is read. Two sets of an
order never share one.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from portal.craft.colour_names import ColourName
from portal.craft.messages import Message
from portal.craft.parts import PartKind, PartSet, Rim
from portal.craft.quantities import Box

ONE_OF = {
    PartKind.WHEEL: Message("Wheel"),
    PartKind.CALIPER: Message("Brake caliper"),
    PartKind.BUMPER: Message("Bumper"),
    PartKind.TUBE: Message("Tube"),
    PartKind.PLATE: Message("Plate"),
    PartKind.BOX: Message("Box"),
    PartKind.RAILING: Message("Railing"),
    PartKind.FRAME: Message("Frame"),
    PartKind.CHAIR: Message("Garden chair"),
    PartKind.TABLE: Message("Garden table"),
    PartKind.BENCH: Message("Garden bench"),
    PartKind.OTHER: Message("Metal part"),
}
# one, and several, within a name: 1 × caliper, 2 × calipers
COUNTED = {
    PartKind.WHEEL: (Message("wheel"), Message("wheels")),
    PartKind.CALIPER: (Message("caliper"), Message("calipers")),
    PartKind.BUMPER: (Message("bumper"), Message("bumpers")),
    PartKind.TUBE: (Message("tube"), Message("tubes")),
    PartKind.PLATE: (Message("plate"), Message("plates")),
    PartKind.BOX: (Message("box"), Message("boxes")),
    PartKind.RAILING: (Message("railing"), Message("railings")),
    PartKind.FRAME: (Message("frame"), Message("frames")),
    PartKind.CHAIR: (Message("chair"), Message("chairs")),
    PartKind.TABLE: (Message("table"), Message("tables")),
    PartKind.BENCH: (Message("bench"), Message("benches")),
    PartKind.OTHER: (Message("metal part"), Message("metal parts")),
}
QUARTERS = {0.0: "", 0.25: "¼", 0.5: "½", 0.75: "¾"}
PAIR = 2


@dataclass(frozen=True, slots=True)
class SetName:
    """What a set is called: "2 × 19 × 8½ front wheels".

    `of_parts` is the same without the count, `of_one` one of its parts: "Wheel 19 × 8½ front".
    `tells_colour` where only the colour tells it from another set.
    """

    of_set: Message
    of_parts: Message
    of_one: Message
    tells_colour: bool = False


def rim_size(rim: Rim) -> str:
    """Return '19 × 8½' as it is said at the counter: diameter, then width, in inches."""
    whole = int(rim.width_code)
    rest = QUARTERS.get(rim.width_code - whole)
    width = f"{rim.width_code:g}" if rest is None else f"{whole}{rest}"
    return f"{rim.diameter_code:g} × {width}"


def set_names(
    sets: Sequence[PartSet], colours: Mapping[str, str] | None = None
) -> dict[str, SetName]:
    """Return the name of every set by its key.

    `colours` are the shop's names of powders by code. What tells two sets of a kind apart comes
    into their names: the size, front and rear, the colour, and as a last resort their letter.
    """
    known = colours or {}
    places = _places(sets)
    drafts = {one.key: _Draft(one, places.get(one.key, "")) for one in sets}
    for more in (_with_size, _with_colour, _with_letter):
        for alike in _alike(drafts.values()):
            for draft in alike:
                more(draft, known)
    return {key: draft.name() for key, draft in drafts.items()}


def name_of(part_set: PartSet) -> SetName:
    """Return the name of a set that stands alone."""
    return set_names([part_set])[part_set.key]


@dataclass(slots=True)
class _Draft:
    """A name in the making."""

    part_set: PartSet
    place: str
    sides: bool = False
    colour: str = ""
    letter: bool = False

    def name(self) -> SetName:
        count = self.part_set.count
        parts = self._more(self._parts(several=count > 1))
        return SetName(
            of_set=Message("{count} × {parts}", count=count, parts=parts),
            of_parts=parts,
            of_one=self._more(self._one()),
            tells_colour=bool(self.colour),
        )

    def _parts(self, *, several: bool) -> Message:
        one = self.part_set
        if one.kind is PartKind.WHEEL and one.rim:
            if _is_guessed(one):
                code = one.rim.diameter_code
                return (
                    Message("{diameter}-inch wheels", diameter=code)
                    if several
                    else Message("{diameter}-inch wheel", diameter=code)
                )
            return Message(_SIZED[self.place][several], size=rim_size(one.rim))
        if one.what:
            return Message("{what}", what=one.what)
        return COUNTED[one.kind][several]

    def _one(self) -> Message:
        one = self.part_set
        if one.kind is PartKind.WHEEL and one.rim:
            if _is_guessed(one):
                return Message("Wheel, {diameter} inches", diameter=one.rim.diameter_code)
            return Message(_ONE_SIZED[self.place], size=rim_size(one.rim))
        if one.what:
            return Message("{what}", what=one.what)
        return ONE_OF[one.kind]

    def _more(self, parts: Message) -> Message:
        one = self.part_set
        if self.sides and one.size_mm:
            parts = Message("{parts} {box}", parts=parts, box=Box(one.size_mm))
        if self.colour:
            parts = Message("{parts}, {colour}", parts=parts, colour=ColourName(self.colour))
        if self.letter:
            parts = Message("{parts} ({letter})", parts=parts, letter=one.key)
        return parts


_SIZED = {
    "": (Message("{size} wheel", size="").msgid, Message("{size} wheels", size="").msgid),
    "front": (
        Message("{size} front wheel", size="").msgid,
        Message("{size} front wheels", size="").msgid,
    ),
    "rear": (
        Message("{size} rear wheel", size="").msgid,
        Message("{size} rear wheels", size="").msgid,
    ),
}
_ONE_SIZED = {
    "": Message("Wheel {size}", size="").msgid,
    "front": Message("Wheel {size} front", size="").msgid,
    "rear": Message("Wheel {size} rear", size="").msgid,
}


def _is_guessed(one: PartSet) -> bool:
    """Whether the width of the rim was not told: it is the usual one for a diameter or a tyre."""
    return not one.rim_text


def _places(sets: Sequence[PartSet]) -> dict[str, str]:
    """Return front and rear for two pairs of wheels whose rims differ: the narrower are in front.

    Source: common practice; cars with two sizes of wheel have the wider ones at the driven rear.
    """
    wheels = [one for one in sets if one.kind is PartKind.WHEEL and one.rim]
    if len(wheels) != PAIR or any(one.count != PAIR or _is_guessed(one) for one in wheels):
        return {}
    sizes = [(one.rim.diameter_code, one.rim.width_code) for one in wheels if one.rim]
    if sizes[0] == sizes[1]:
        return {}
    front, rear = wheels if sizes[0] < sizes[1] else reversed(wheels)
    return {front.key: "front", rear.key: "rear"}


def _alike(drafts: Iterable[_Draft]) -> list[list[_Draft]]:
    """Return the drafts that would be called the same, counts apart."""
    groups: dict[Message, list[_Draft]] = {}
    for draft in drafts:
        groups.setdefault(draft.name().of_one, []).append(draft)
    return [group for group in groups.values() if len(group) > 1]


def _with_size(draft: _Draft, _colours: Mapping[str, str]) -> None:
    draft.sides = draft.part_set.size_mm is not None


def _with_colour(draft: _Draft, colours: Mapping[str, str]) -> None:
    finish = draft.part_set.finish
    draft.colour = colours.get(finish.colour, "") if finish else ""


def _with_letter(draft: _Draft, _colours: Mapping[str, str]) -> None:
    # a colour that tells nothing apart only makes the name longer
    draft.colour, draft.letter = "", True
