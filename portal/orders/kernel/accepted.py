"""What the customer accepted before booking, as it was told: read from the stored assessment.

Of a job from before assessments were kept nothing is claimed.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from portal.craft.answers import CautionKind
from portal.craft.message_json import from_json
from portal.craft.messages import Message
from portal.craft.parts import PartSet

# conditions on how the parts come: somebody looks before they are received
AT_THE_DOOR = frozenset({"multi_piece", "empty_caliper", "empty_frame", "bearings_out", "sealed"})


@dataclass(frozen=True, slots=True)
class Accepted:
    """One condition, and the keys of the sets that it was told for; one of an order has ""."""

    key: str
    says: Message
    set_keys: tuple[str, ...]

    @property
    def at_door(self) -> bool:
        """Whether it says how the parts must come."""
        return self.key in AT_THE_DOOR


def accepted_in(
    assessed: Mapping[str, Any] | None, sets: Sequence[PartSet]
) -> tuple[Accepted, ...]:
    """Return what was accepted of an order with these sets, each condition once."""
    found: dict[str, tuple[Message, list[str]]] = {}
    for set_key, caution in _told(assessed or {}, sets):
        if caution["kind"] == CautionKind.CONFIRM:
            _says, keys = found.setdefault(caution["key"], (from_json(caution["says"]), []))
            keys.append(set_key)
    return tuple(Accepted(key, says, tuple(keys)) for key, (says, keys) in found.items())


def _told(
    assessed: Mapping[str, Any], sets: Sequence[PartSet]
) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Yield each caution with the key of its set, empty for the whole order."""
    yield from (("", caution) for caution in assessed.get("cautions", ()))
    for kept, one in zip(assessed.get("sets", ()), sets, strict=False):
        yield from ((one.key, caution) for caution in kept["cautions"])
