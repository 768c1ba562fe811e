"""A day as a line: its hours, and lanes with what happens when.

Places are percents of the width, so that words keep their size on every screen; each word is cut at
the end of its own place. The same facts stand beside the picture as text.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from markupsafe import Markup, escape

from portal.web.kit.i18n.languages import clock_time, local
from portal.web.pictures.svg import num

HEAD, ROW, MOST_ROWS, FOOT = 24, 26, 2, 20
LEFT = 6.5  # percent of the width, for the names of the lanes
SLACK = 0.2  # edges that are nearer touch
PER_LETTER, MARGIN = 0.55, 1.2  # what a word takes of the width, in percent, on a desk's screen
MOST_HOURS = 14  # of a longer day every other hour is named


@dataclass(frozen=True, slots=True)
class DayMark:
    """Something at a moment, or from a moment to another; `kind` is how it is drawn."""

    starts: datetime
    words: str
    kind: str = ""
    ends: datetime | None = None


@dataclass(frozen=True, slots=True)
class Lane:
    """One lane with its marks."""

    title: str
    marks: tuple[DayMark, ...]


@dataclass(slots=True)
class _Placed:
    """A mark at its place: row, and left and right edge in percent of the width.

    Near the end of the line a moment's words stand before it.
    """

    mark: DayMark
    row: int
    left: float
    right: float
    words_before: bool = False


@dataclass(slots=True)
class _Hours:
    """The axis of hours, from a full hour to a full hour."""

    first: datetime
    last: datetime
    names: list[datetime] = field(default_factory=list)

    def x(self, at: datetime) -> float:
        """Return where a moment is, in percent of the width; at an edge when it is outside."""
        share = (at - self.first) / (self.last - self.first)
        return LEFT + (100 - LEFT) * min(1.0, max(0.0, share))


def day_line(opens: datetime, closes: datetime, now: datetime, lanes: Sequence[Lane]) -> Markup:
    """Draw the hours from `opens` to `closes` (aware), wider where a mark is outside them."""
    hours = _axis(opens, closes, [one for lane in lanes for one in lane.marks])
    top, bodies = HEAD, []
    for lane in lanes:
        placed = _place(lane.marks, hours)
        rows = max((one.row for one in placed), default=0) + 1
        bodies.append(_lane(lane.title, placed, top))
        top += rows * ROW + 4
    height = top + FOOT
    # a browser that prints, or a reader without styles, has a width of its own
    return Markup(
        '<svg class="day-line" width="100%" height="{}" aria-hidden="true">{}</svg>'
    ).format(height, Markup("").join([_head(hours), _now(now, hours, top), *bodies]))


def _axis(opens: datetime, closes: datetime, marks: Sequence[DayMark]) -> _Hours:
    moments = [opens, closes, *(one.starts for one in marks if _is_near(one.starts, opens, closes))]
    first, last = _full_hour(min(moments)), _full_hour(max(moments) - timedelta(minutes=1))
    last += timedelta(hours=1)
    count = round((last - first) / timedelta(hours=1))
    step = 1 if count <= MOST_HOURS else 2
    return _Hours(first, last, [first + timedelta(hours=n) for n in range(0, count, step)])


def _is_near(at: datetime, opens: datetime, closes: datetime) -> bool:
    """Whether a moment is near enough to the day's hours to widen them."""
    return opens - timedelta(hours=2) <= at <= closes + timedelta(hours=2)


def _full_hour(at: datetime) -> datetime:
    here = local(at)
    assert isinstance(here, datetime)
    return here.replace(minute=0, second=0, microsecond=0)


def _hour(at: datetime) -> str:
    here = local(at)
    assert isinstance(here, datetime)
    return str(here.hour)


def _place(marks: Sequence[DayMark], hours: _Hours) -> list[_Placed]:
    """Give each mark a row in which it is free, and cut it where the next one begins."""
    placed: list[_Placed] = []
    for mark in sorted(marks, key=lambda one: one.starts):
        left, right, before_it = _span(mark, hours)
        taken = [
            max((p.right for p in placed if p.row == n), default=0.0) for n in range(MOST_ROWS)
        ]
        row = next(
            (n for n, end in enumerate(taken) if end <= left + SLACK), taken.index(min(taken))
        )
        for before in placed:
            if before.row == row:
                before.right = min(before.right, max(left, before.left))
        placed.append(_Placed(mark, row, left, min(100.0, right), before_it))
    return placed


def _span(mark: DayMark, hours: _Hours) -> tuple[float, float, bool]:
    """Return the edges of a mark with its words, and whether they stand before its moment."""
    at, wide = hours.x(mark.starts), len(mark.words) * PER_LETTER + MARGIN
    if mark.ends:
        return min(at, 100 - 4.0), hours.x(mark.ends), False
    if at + wide > 100:
        return at - wide, at, True
    return at, at + wide, False


def _head(hours: _Hours) -> Markup:
    return Markup("").join(
        Markup('<text x="{}%" y="16" class="day-hour">{}</text>').format(
            num(hours.x(at)), _hour(at)
        )
        for at in hours.names
    )


def _lane(title: str, placed: Sequence[_Placed], top: float) -> Markup:
    words = Markup(
        '<line x1="0" x2="100%" y1="{y}" y2="{y}" class="day-rule"/>'
        '<text x="0" y="{t}" class="day-lane">{title}</text>'
    ).format(y=top, t=top + 19, title=title)
    return words + Markup("").join(_mark(one, top + 3 + one.row * ROW) for one in placed)


def _mark(one: _Placed, y: float) -> Markup:
    mark, text = one.mark, Markup('x="8"')
    if mark.ends:
        shape = Markup('<rect x="1" y="1" width="98%" height="20" rx="3"/>')
    else:
        shape = Markup('<rect width="3" height="22"/>')
    if one.words_before:
        shape = Markup('<rect x="100%" width="3" height="22" transform="translate(-3)"/>')
        text = Markup('x="100%" dx="-8" text-anchor="end"')
    return Markup(
        '<svg x="{x}%" y="{y}" width="{w}%" height="24" class="day-mark" '
        'data-kind="{kind}" aria-hidden="true">{shape}'
        '<text {text} y="16">{words}</text></svg>'
    ).format(
        x=num(one.left),
        y=num(y),
        w=num(max(0.6, one.right - one.left)),
        kind=mark.kind,
        shape=shape,
        text=text,
        words=escape(_that_fits(mark, one.right - one.left)),
    )


def _that_fits(mark: DayMark, room: float) -> str:
    """Return the words of a mark; of a box that is too narrow for them the first alone."""
    wide = len(mark.words) * PER_LETTER + MARGIN
    return mark.words.partition(" · ")[0] if mark.ends and wide > room else mark.words


def _now(now: datetime, hours: _Hours, foot: float) -> Markup:
    if not hours.first <= now <= hours.last:
        return Markup("")
    x = num(hours.x(now))
    return Markup(
        '<line x1="{x}%" x2="{x}%" y1="4" y2="{y}" class="day-now"/>'
        '<svg x="{x}%" y="{y}" width="44" height="20" overflow="visible" class="day-clock" '
        'aria-hidden="true">'
        '<rect x="-22" width="44" height="20" rx="3"/><text y="15">{time}</text></svg>'
    ).format(x=x, y=num(foot), time=clock_time(now))
