"""What events that mark changes of stage can tell of working times, and what they can't.

An event says when a part came to a station and when it left, not when somebody took it up. How
long it was worked on follows only where the place surely had work the whole time: at a station
with one place, from one departure to the next departure of something that was already waiting at
the first. Whatever came later may have been waited for, so it tells nothing and is left out.

With `places` at work side by side, departures of several lots mix. A stretch of departures in
which there was a lot for every place tells the time of all of them: places × length of the
stretch, against the work that left in it. What is half done at its beginning and at its end evens
out over many stretches (the utilisation law, work done = busy places × time; Denning and Buzen
1978, The operational analysis of queueing network models; from memory).

Times are minutes on a line of the station's own working time.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from portal.shop.route import PartStage

# scans that follow each other this closely were made in one go; common practice
TOGETHER = 2.0
Lot = tuple[int, str]


@dataclass(frozen=True, slots=True)
class Visit:
    """Work at a station that could be timed: minutes it took, and expected minutes.

    Both hold for all `parts` together. `at` is when it ended.
    """

    station: PartStage
    minutes: float
    expected: float
    parts: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Stay:
    """One part at one station, from coming to leaving; `left` is infinite while it is there.

    `told` is False where something else than the station delayed it, or took it away undone.
    """

    lot: Lot
    came: float
    left: float
    left_at: datetime
    expected: float
    colour: str = ""
    undisturbed: bool = True


@dataclass(slots=True)
class _Stretch:
    """Departures one after the other, from a moment on at which their work could begin."""

    start: float
    end: float = 0.0
    work: float = 0.0
    scans: int = 0
    parts: list[Stay] = field(default_factory=list)

    def add(self, scan: Sequence[Stay], change: float) -> None:
        """Append the departures of one scan."""
        self.end = scan[-1].left
        self.work += sum(stay.expected for stay in scan) + change
        self.scans += 1
        self.parts += scan


def timed(
    stays: Iterable[Stay], station: PartStage, places: int, *, colour_change: float = 0.0
) -> list[Visit]:
    """Return the visits to a station that can be timed, oldest first.

    `colour_change` is expected on top where the powder differs from the one before.
    """
    known = sorted(stays, key=lambda stay: stay.left)
    here = _Here(known)
    visits: list[Visit] = []
    stretch: _Stretch | None = None
    colour = ""
    for scan in _scans(known):
        if stretch is not None and _is_whole(stretch, scan, places):
            visits += _visit(stretch, station, places)
            stretch = _Stretch(stretch.end)
        change = colour_change if colour and scan[0].colour != colour else 0.0
        colour = scan[-1].colour
        if stretch is not None and here.busy(scan, places):
            stretch.add(scan, change)
        else:
            visits += _visit(stretch, station, places)
            stretch = _Stretch(scan[-1].left)
        here.after(scan)
    return visits + _visit(stretch, station, places)


class _Here:
    """Which lots are at the station as the departures are gone through."""

    def __init__(self, stays: Sequence[Stay]) -> None:
        self._coming = sorted((s for s in stays if s.undisturbed), key=lambda stay: -stay.came)
        self._lots: Counter[Lot] = Counter()
        self._at = -math.inf

    def busy(self, scan: Sequence[Stay], places: int) -> bool:
        """Return whether these departures waited since the last one, with work for all places."""
        waited = all(stay.undisturbed and stay.came <= self._at for stay in scan)
        return waited and sum(n > 0 for n in self._lots.values()) >= places

    def after(self, scan: Sequence[Stay]) -> None:
        """Move on to the end of a scan."""
        self._at = scan[-1].left
        while self._coming and self._coming[-1].came <= self._at:
            self._lots[self._coming.pop().lot] += 1
        for stay in scan:
            if stay.undisturbed:
                self._lots[stay.lot] -= 1


def _scans(stays: Sequence[Stay]) -> list[list[Stay]]:
    scans: list[list[Stay]] = []
    for stay in stays:
        if math.isinf(stay.left):
            continue
        if scans and stay.left - scans[-1][-1].left <= TOGETHER:
            scans[-1].append(stay)
        else:
            scans.append([stay])
    return scans


def _is_whole(stretch: _Stretch, scan: Sequence[Stay], places: int) -> bool:
    """Return whether a stretch ends before `scan`.

    At one place a lot is a visit, as in the forecast; several places need several departures until
    what is half done weighs little.
    """
    if places > 1:
        return stretch.scans >= 2 * places
    return {s.lot for s in stretch.parts} != {s.lot for s in scan} and bool(stretch.parts)


def _visit(stretch: _Stretch | None, station: PartStage, places: int) -> list[Visit]:
    if stretch is None or not stretch.parts or stretch.work <= 0 or stretch.end <= stretch.start:
        return []
    if places > 1 and stretch.scans < 2 * places:
        return []
    return [
        Visit(
            station,
            places * (stretch.end - stretch.start),
            stretch.work,
            len(stretch.parts),
            stretch.parts[-1].left_at,
        )
    ]
