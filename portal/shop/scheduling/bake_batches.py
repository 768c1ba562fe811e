"""Which bakes may share an oven load: one rule for the oven's page and for the forecast.

Common practice: parts share a load when they are there for the same reason (a pre-bake, a base
coat that is only gelled, a full cure) and for the same time, at temperatures close enough for the
shop. A load then runs at the highest.
"""

from collections.abc import Iterable
from typing import Any

from portal.craft.bakes import Bake, Schedule

# temperatures differ by less, so that bakes of unlike reason or time never come near each other
_STEP_C = 1000
_PURPOSE = {bake: n for n, bake in enumerate(Bake)}


def batch_of(planned: Schedule) -> int:
    """Return the number of a bake: bakes may share a load whose numbers `agree`."""
    return planned.set_point_c + _STEP_C * (
        len(_PURPOSE) * planned.whole_min + _PURPOSE[planned.bake]
    )


def bake_of(number: int) -> Schedule:
    """Return the bake of a number of `batch_of`, in °C and whole minutes."""
    rest, set_point_c = divmod(number, _STEP_C)
    minutes, purpose = divmod(rest, len(_PURPOSE))
    return Schedule(tuple(Bake)[purpose], set_point_c, minutes)


def agree(one: Any, other: Any, apart_c: float) -> Any:
    """Return whether bakes with these numbers may share a load; also for arrays of numbers."""
    return abs(one - other) <= apart_c


def all_agree(bakes: Iterable[Schedule], apart_c: float) -> bool:
    """Return whether all these bakes may share one load."""
    numbers = [batch_of(one) for one in bakes]
    return bool(agree(max(numbers), min(numbers), apart_c))
