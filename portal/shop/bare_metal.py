"""How long a blasted part may wait for its first coat: bare metal rusts, and ages.

The hours are the shop's own (`shop.works.WorkRules`).
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from portal.craft.messages import Message

# the last share of the time, in which a part is shown as near its end: our own choice
NEAR = 0.25
HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class BareMetal:
    """A part without a coat: blasted at `since` (aware UTC), seen at `now`.

    `within` is how long it may wait; None where nothing is known of its metal.
    """

    since: datetime
    now: datetime
    within: timedelta | None

    @property
    def hours(self) -> int:
        """Whole hours since it was blasted."""
        return (self.now - self.since) // HOUR

    @property
    def until(self) -> datetime | None:
        """When it must have its first coat."""
        return None if self.within is None else self.since + self.within

    @property
    def over(self) -> bool:
        """Whether it must be blasted again."""
        return self.within is not None and self.now - self.since > self.within

    @property
    def near(self) -> bool:
        """Whether its time is nearly over."""
        if self.within is None or self.over:
            return False
        return self.since + self.within - self.now <= NEAR * self.within


def too_late(part_number: int, bare: BareMetal) -> Message:
    """Return the refusal of a part that has waited too long."""
    assert bare.within is not None
    return Message(
        "Part {part} was blasted more than {within} hours ago: too long for bare metal. Send it "
        "back to blast.",
        part=part_number,
        within=bare.within / HOUR,
    )
