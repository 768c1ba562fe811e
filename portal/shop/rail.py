"""The rail that shows a job's progress: its stops, what is done, where it is.

The job is as far as its least advanced part. A rework takes stops back: the rail shows it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from portal.craft.messages import Message, Plural, joined
from portal.shop.faults import coats_kept
from portal.shop.moves import JobState
from portal.shop.route import EACH_COAT, FIRST, PLACE, PartPlan, PartStage, ahead
from portal.shop.verbs import EventVerb


class StopState(StrEnum):
    """Whether a stop is done, present, or still to come."""

    DONE = "done"
    NOW = "now"
    NEXT = "next"


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop. `at` is when it was done, or for when it is planned; aware UTC.

    `plain` says in plain words what the title means, `note` how it stands at present.
    """

    title: Message
    state: StopState
    at: datetime | None = None
    note: Message | None = None
    plain: Message | None = None


@dataclass(frozen=True, slots=True)
class Away:
    """The strip run that a part is in: when it leaves, when it is back, whether it has left."""

    leaves_on: date
    back_on: date
    left: bool


@dataclass(frozen=True, slots=True)
class Travelled:
    """One part on the rail: its plan, its stage, how often it was reworked, its strip run."""

    part_id: int
    stage: PartStage
    coats: int
    coats_done: int
    strip: bool
    refit: bool
    reworks: int = 0
    away: Away | None = None

    @property
    def plan(self) -> PartPlan:
        """Which stages the part passes."""
        return PartPlan(self.strip, self.coats, self.refit)


@dataclass(frozen=True, slots=True)
class PartMove:
    """One event of a part: `verb` is move, rework or undo."""

    part_id: int
    verb: EventVerb
    from_: PartStage
    to: PartStage
    at: datetime


@dataclass(frozen=True, slots=True)
class Dates:
    """The job's own dates, aware UTC."""

    booked_at: datetime
    dropoff_at: datetime
    received_at: datetime | None = None
    ready_at: datetime | None = None
    handed_back_at: datetime | None = None


class _Key(NamedTuple):
    """A stop of the rail: its stage, and how many coats were on before it."""

    stage: PartStage
    coat: int


_AGAIN = Message("We weren't happy with one part and are doing it again.")
_OTHERS = Plural("The other part is further on.", "The other {count} parts are further on.")
_END = 99


def rail(
    state: JobState, parts: Sequence[Travelled], moves: Iterable[PartMove], dates: Dates
) -> tuple[Stop, ...]:
    """Return the stops of a job in order, exactly one of them NOW until it is handed back."""
    stops = [Stop(Message("Booked"), StopState.DONE, dates.booked_at)]
    arrived = dates.received_at is not None
    stops.append(_dropped_off(state, dates))
    keys = _keys(parts)
    several = any(key.coat for key in keys)
    left = _left_at(parts, moves)
    at_work = arrived and state.is_in_house
    over = state.is_done
    found_now = not at_work
    for key in keys:
        there = [p for p in parts if key in _way(p.plan)]
        done = over or (arrived and all(_position(p, keys) > keys.index(key) for p in there))
        when = max((t for p in there if (t := left.get((p.part_id, key)))), default=None)
        title, plain = _title(key, several=several), _plain(key)
        if (done and not found_now) or over:
            stops.append(Stop(title, StopState.DONE, when, plain=plain))
        elif not found_now:
            found_now = True
            stops.append(Stop(title, StopState.NOW, None, _note(key, state, there), plain))
        else:
            stops.append(Stop(title, StopState.NEXT, plain=plain))
    return (*stops, *_ends(state, dates, packing=not found_now))


def _dropped_off(state: JobState, dates: Dates) -> Stop:
    if dates.received_at is not None:
        return Stop(Message("Dropped off"), StopState.DONE, dates.received_at)
    note = None
    if state is JobState.NOT_BROUGHT:
        note = Message("You didn't come. Choose another time, or call us.")
    return Stop(Message("Drop-off"), StopState.NOW, dates.dropoff_at, note)


def _ends(state: JobState, dates: Dates, *, packing: bool) -> tuple[Stop, Stop]:
    home = Stop(Message("Collected"), StopState.NEXT)
    if state is JobState.HANDED_BACK:
        ready = Stop(Message("Ready"), StopState.DONE, dates.ready_at)
        return (ready, Stop(Message("Collected"), StopState.DONE, dates.handed_back_at))
    if state is JobState.READY:
        return (Stop(Message("Ready"), StopState.NOW, dates.ready_at), home)
    if packing:
        note = Message("Finished. We are putting your parts together for pickup.")
        return (Stop(Message("Ready"), StopState.NOW, None, note), home)
    return (Stop(Message("Ready"), StopState.NEXT), home)


def _note(key: _Key, state: JobState, there: Sequence[Travelled]) -> Message | None:
    if state is JobState.WAITING:
        return Message("We are waiting for your answer.")
    if any(p.reworks and _key(p.stage, p.coats_done) == key for p in there):
        further = sum(_is_beyond(p, key) for p in there)
        return joined([_AGAIN, _OTHERS.of(further)]) if further else _AGAIN
    return _away(key, there)


def _plain(key: _Key) -> Message | None:
    """Return what a stop means; of several coats the first one says it."""
    return None if key.coat else key.stage.row.customer


def _away(key: _Key, there: Sequence[Travelled]) -> Message | None:
    """Return when parts that are stripped elsewhere leave and come back, the last ones of all."""
    runs = [p.away for p in there if p.away and _key(p.stage, p.coats_done) == key]
    if not runs:
        return None
    last = max(runs, key=lambda one: (one.back_on, one.leaves_on))
    if last.left:
        return Message("Left on {day}, back on {back}.", day=last.leaves_on, back=last.back_on)
    return Message("Leaves on {day}, back on {back}.", day=last.leaves_on, back=last.back_on)


def _is_beyond(part: Travelled, key: _Key) -> bool:
    """Return whether a part has left a stop behind it: a rework of another keeps it nowhere."""
    own = _key(part.stage, part.coats_done)
    return part.stage is PartStage.DONE or _in_order(own) > _in_order(key)


def _title(key: _Key, *, several: bool) -> Message:
    title, numbered = Message(key.stage.title), key.stage.row.numbered
    if not (several and key.stage.row.per_coat):
        return title
    if key.coat < len(numbered):
        return numbered[key.coat]
    return Message("{stage} {number}", stage=title, number=key.coat + 1)


def _key(stage: PartStage, coats_done: int) -> _Key:
    return _Key(stage.stop, coats_done if stage.row.per_coat else 0)


@lru_cache(maxsize=64)
def _way(plan: PartPlan) -> frozenset[_Key]:
    way = ahead(FIRST, plan, 0)
    return frozenset(_key(stage, coats) for stage, coats in way if stage.is_station)


def _keys(parts: Sequence[Travelled]) -> list[_Key]:
    """The stops that any part makes, in the order of work."""
    plans = {p.plan for p in parts} or {PartPlan(strip=False, coats=1, refit=False)}
    return sorted({key for plan in plans for key in _way(plan)}, key=_in_order)


def _in_order(key: _Key) -> tuple[int, int, int]:
    """Coat after coat, and each of its stages in its place."""
    place = PLACE[key.stage]
    return (PLACE[EACH_COAT[0]] if key.stage.row.per_coat else place, key.coat, place)


def _position(part: Travelled, keys: Sequence[_Key]) -> int:
    key = _key(part.stage, part.coats_done)
    return keys.index(key) if key in keys else _END


@dataclass(slots=True)
class _Replay:
    """A part's way so far: when it left each stop, and how many coats were on it."""

    coats_done: int = 0
    left: dict[_Key, datetime] = field(default_factory=dict)
    before: list[tuple[int, dict[_Key, datetime]]] = field(default_factory=list)


def _left_at(
    parts: Sequence[Travelled], moves: Iterable[PartMove]
) -> dict[tuple[int, _Key], datetime]:
    replays = {p.part_id: _Replay() for p in parts}
    for move in moves:
        if (one := replays.get(move.part_id)) is not None:
            _step(one, move)
    return {(part_id, key): at for part_id, one in replays.items() for key, at in one.left.items()}


def _step(one: _Replay, move: PartMove) -> None:
    if move.verb == EventVerb.UNDO:
        if one.before:
            one.coats_done, one.left = one.before.pop()
        return
    one.before.append((one.coats_done, dict(one.left)))
    if move.verb == EventVerb.REWORK:
        one.coats_done = coats_kept(move.from_, one.coats_done, move.to)
        again = _in_order(_key(move.to, one.coats_done))
        one.left = {key: at for key, at in one.left.items() if _in_order(key) < again}
        return
    left = _key(move.from_, one.coats_done)
    one.coats_done += move.from_.ends_coat
    # out of the booth and into the oven is still the same coat
    if left != _key(move.to, one.coats_done):
        one.left[left] = move.at
