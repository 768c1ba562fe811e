"""The three sides of a part as people type them: parsing, showing, and questioning odd ones."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from flask_babel import lazy_gettext as _l

from portal.craft.geometry import surface, usual_longest_mm, usual_size
from portal.craft.lengths import read_lengths, split_lengths
from portal.craft.messages import Message
from portal.craft.parts import PartKind, PartSet
from portal.craft.quantities import Box, fixed, m2
from portal.render.figures import MM_PER_INCH
from portal.web.kit.i18n import measures
from portal.web.kit.lengths import length_text

LONGEST, SHORTEST = 12_000, 1
Size = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Sides:
    """The parsed `size` in mm, or what is wrong with which line."""

    size: Size | None
    wrong: dict[int, Any]

    @property
    def mark(self) -> str:
        """Return the size as a value, so that a tick confirms this size and no other."""
        return "x".join(f"{side:g}" for side in self.size or ())


def read_sides(texts: Sequence[str]) -> Sides:
    """Parse length, width and height; one unit counts for all that have none.

    All three may stand in the first line, as 26 x 14 x 12 cm.
    """
    typed = [text.strip() for text in texts]
    whole = split_lengths(typed[0]) if typed[0] and not any(typed[1:]) else None
    found = read_lengths(whole or typed, bare=MM_PER_INCH if measures.in_inches() else 1.0)
    wrong: dict[int, Any] = {}
    for n, (text, length) in enumerate(zip(typed, found, strict=True)):
        if not text and not whole:
            wrong[n] = _l("Enter a length. A rough one is enough.")
        elif length is None:
            wrong[0 if whole else n] = _unread()
        elif not SHORTEST <= length <= LONGEST:
            wrong[0 if whole else n] = _l("Enter a length between 1 mm and 12 m. Check the unit.")
    if wrong:
        return Sides(None, wrong)
    length, width, height = (round(side or 0, 1) for side in found)
    return Sides((length, width, height), {})


def _unread() -> Any:
    if measures.in_inches():
        return _l("Enter a length like 18, 17 3/4 or 45 cm. Without a unit we take inches.")
    return _l("Enter a length like 450, 45 cm or 18 in. Without a unit we take mm.")


def odd_side(kind: PartKind, size: Size) -> str | None:
    """Return the longest side as text where such a part seldom has it, else None."""
    low, high = usual_longest_mm(kind)
    longest = max(size)
    return None if low <= longest <= high else length_text(longest)


def area_says(part_set: PartSet) -> tuple[Message, ...]:
    """Return the assumed area of one part, and how sure it is."""
    found = surface(part_set)
    if found is None or part_set.kind is PartKind.WHEEL:
        return ()
    percent = round(found.uncertainty * 20) * 5
    size = Box(tuple(map(round, part_set.size_mm or usual_size(part_set.kind) or ())))
    area = m2(fixed(found.area_m2, 1 if found.area_m2 >= 0.1 else 2))
    if part_set.size_mm is None:
        return (
            Message(
                "No size yet, so we take the usual one: {size}, about {area} to coat on each, "
                "± {percent} %.",
                size=size,
                area=area,
                percent=percent,
            ),
        )
    return (
        Message("{size}", size=size),
        Message("about {area} to coat on each, ± {percent} %", area=area, percent=percent),
    )
