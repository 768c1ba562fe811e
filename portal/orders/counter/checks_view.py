"""The checks of a job as its pages show them: those of one kind and one set together."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from portal.craft.check_kinds import CheckKind
from portal.craft.checks import Check, Result, check
from portal.orders.kernel.checks import CheckLine, CheckRecord
from portal.shop.route import FIRST, PartStage


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """The lines of one kind in one set."""

    kind: CheckKind
    set_key: str
    lines: tuple[CheckLine, ...]

    @property
    def row(self) -> Check:
        """What the trade says of the check."""
        return check(self.kind)

    @property
    def before(self) -> PartStage | None:
        """The station into which the parts may not go; None for the start of all work."""
        word = self.row.before
        return PartStage(word) if word and word != FIRST else None

    @property
    def open(self) -> tuple[CheckLine, ...]:
        """The lines without a result."""
        return tuple(line for line in self.lines if line.open)

    @property
    def due(self) -> tuple[CheckLine, ...]:
        """The open lines that can be done where their parts stand."""
        return tuple(line for line in self.lines if line.due)

    @property
    def since(self) -> PartStage | None:
        """The station from which on it can be done."""
        return PartStage(self.row.since) if self.row.since else None

    @property
    def done(self) -> tuple[CheckLine, ...]:
        """The lines with a result."""
        return tuple(line for line in self.lines if not line.open)

    @property
    def done_together(self) -> tuple[tuple[CheckLine, ...], ...]:
        """The lines with a result, those that were recorded alike at one moment together."""
        found: dict[CheckRecord | None, list[CheckLine]] = {}
        for line in self.done:
            alike = line.record and replace(line.record, finding_id=None)
            found.setdefault(alike, []).append(line)
        return tuple(map(tuple, found.values()))

    @property
    def quick(self) -> tuple[Result, ...]:
        """The results that are recorded by one press: those that ask nobody."""
        return tuple(one for one in self.row.results if not one.positive)

    @property
    def serious(self) -> tuple[Result, ...]:
        """The results that are put to the customer."""
        return tuple(one for one in self.row.results if one.positive)


def groups_of(lines: Iterable[CheckLine]) -> tuple[CheckGroup, ...]:
    """Return lines by kind and set, in the order of work."""
    found: dict[tuple[CheckKind, str], list[CheckLine]] = {}
    for line in lines:
        found.setdefault((line.kind, line.set_key), []).append(line)
    return tuple(CheckGroup(kind, key, tuple(own)) for (kind, key), own in found.items())
