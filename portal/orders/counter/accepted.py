"""What the customer accepted before booking, as it was told: read from the stored assessment."""

from collections.abc import Iterator
from dataclasses import dataclass

from portal.craft.answers import Appraisal, Caution, CautionKind
from portal.craft.messages import Message
from portal.shop.assessment.assess import Assessment

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


def accepted_in(order: Assessment) -> tuple[Accepted, ...]:
    """Return what was accepted of an order as it was told, each condition once."""
    found: dict[str, tuple[Message, list[str]]] = {}
    for set_key, caution in _cautions_of(order.appraisal):
        if caution.kind is CautionKind.CONFIRM:
            found.setdefault(caution.key, (caution.says, []))[1].append(set_key)
    return tuple(Accepted(key, says, tuple(keys)) for key, (says, keys) in found.items())


def _cautions_of(appraisal: Appraisal) -> Iterator[tuple[str, Caution]]:
    """Yield each caution with the key of its set, empty for the whole order."""
    yield from (("", caution) for caution in appraisal.cautions)
    for one in appraisal.sets:
        yield from ((one.part_set.key, caution) for caution in one.cautions)
