"""What one part of each kind is called, and the same again in another language."""

import re
from collections.abc import Callable

from portal.craft.parts import PartKind
from portal.craft.say import say

ONE_OF = {
    PartKind.WHEEL: say("Wheel"),
    PartKind.CALIPER: say("Brake caliper"),
    PartKind.BUMPER: say("Bumper"),
    PartKind.TUBE: say("Tube"),
    PartKind.PLATE: say("Plate"),
    PartKind.BOX: say("Box"),
    PartKind.RAILING: say("Railing"),
    PartKind.FRAME: say("Frame"),
    PartKind.CHAIR: say("Garden chair"),
    PartKind.TABLE: say("Garden table"),
    PartKind.BENCH: say("Garden bench"),
    PartKind.OTHER: say("Metal part"),
}

# the longest first; at the start of a label, or after its count: a colour may hold the same word
_NAMES = sorted((*ONE_OF.values(), *(kind.title for kind in PartKind)), key=len, reverse=True)
_NAMED = re.compile(rf"(^|× )({'|'.join(map(re.escape, _NAMES))})\b")
# 19 × 8.5
_SIZE = re.compile(r"(?<=\d)\.(?=\d+ ×)|(?<=× )(?P<whole>\d+)\.(?=\d)")


def renamed(label: str, translate: Callable[[str], str], sign: str = ".") -> str:
    """Return a label or a summary that was kept in English as another language has it.

    Its parts' names are translated, its sizes get the decimal `sign`; a colour keeps its name.
    """
    named = _NAMED.sub(lambda found: found[1] + translate(found[2]), label)
    return _SIZE.sub(lambda found: (found["whole"] or "") + sign, named)
