"""Which parts of an order have a price: those that are not refused."""

from dataclasses import replace

from portal.craft.answers import About, CautionKind, SetAppraisal
from portal.craft.damaged import without


def is_taken(answer: SetAppraisal) -> bool:
    """Return whether the set has a price: not when all of its parts are refused.

    A finish that can't be made still shows the starting price of another one.
    """
    return taken(answer).part_set.count > 0 and not any(
        one.kind is CautionKind.REFUSE and one.about is not About.FINISH and one.parts is None
        for one in answer.cautions
    )


def taken(answer: SetAppraisal) -> SetAppraisal:
    """Return the set as priced: without the parts that are refused for their damage."""
    gone = answer.refused_damage
    if not gone:
        return answer
    part_set = without(answer.part_set, gone)
    return replace(answer, part_set=part_set, possible=tuple(map(taken, answer.possible)))
