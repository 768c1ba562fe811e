"""The checks of a job as its customer reads them: what was done, when, and what it found."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from portal.craft.check_kinds import CheckKind
from portal.craft.messages import Message
from portal.orders.kernel.checks import CheckLine


@dataclass(frozen=True, slots=True)
class CheckTold:
    """One check with one result, on the parts with these `numbers`; without `at` it is to come.

    `numbers` is empty where it is told of all parts that have the check. `by` is for papers.
    """

    kind: CheckKind
    says: Message | None
    at: datetime | None
    by: str
    numbers: tuple[int, ...]

    @property
    def done(self) -> bool:
        """Whether a result is recorded."""
        return self.at is not None


def checks_told(lines: Iterable[CheckLine]) -> tuple[CheckTold, ...]:
    """Return the checks of a job in the order of work, parts with one result together."""
    grouped: dict[tuple[CheckKind, str], list[CheckLine]] = {}
    kinds: dict[CheckKind, int] = {}
    for line in lines:
        result = line.record.result if line.record else ""
        grouped.setdefault((line.kind, result), []).append(line)
        kinds[line.kind] = kinds.get(line.kind, 0) + 1
    return tuple(
        _check_told(kind, own, every=len(own) == kinds[kind]) for (kind, _), own in grouped.items()
    )


def _check_told(kind: CheckKind, own: list[CheckLine], *, every: bool) -> CheckTold:
    numbers = () if every else tuple(line.number for line in own)
    records = [line.record for line in own if line.record is not None]
    if not records:
        return CheckTold(kind, None, None, "", numbers)
    last = max(records, key=lambda record: record.at)
    says = last.outcome.customer if last.outcome else Message("We went on without it.")
    return CheckTold(kind, says, last.at, last.by, numbers)
