"""Before and after as a picture: one line a job, with its promise and two dates."""

from datetime import datetime, timedelta

from flask_babel import gettext as _
from markupsafe import Markup

from portal.orders.planning.what_if import Tried
from portal.web.kit.i18n.languages import local, short_day

# narrow, so that its words can still be read when a phone makes it smaller
WIDTH, LEFT, ROW, TOP = 420, 92, 26, 30
MOST_ROWS = 60


def before_and_after(tried: Tried, now: datetime) -> Markup:
    """Draw the jobs of a what-if; the same figures stand beside it as text."""
    jobs = tried.compared.jobs[:MOST_ROWS]
    moments = [at for one in jobs for at in (one.promise_at, one.before_at, one.after_at)]
    first, last = min([now, *moments]), max([now + timedelta(days=1), *moments])
    span = (last - first).total_seconds()

    def x(at: datetime) -> float:
        return LEFT + (WIDTH - LEFT - 14) * (at - first).total_seconds() / span

    height = TOP + ROW * len(jobs) + 8
    shapes = [_days(first, last, x, height)]
    for n, one in enumerate(jobs):
        y = TOP + ROW * n + ROW / 2
        before, after, post = x(one.before_at), x(one.after_at), x(one.promise_at)
        code = tried.codes.get(one.job_id, "")
        shapes.append(
            Markup(
                '<text x="0" y="{t:.0f}" class="wi-code">{code}</text>'
                '<path d="M{post:.1f} {u:.1f}v18" class="wi-post"/>'
                '<path d="M{b:.1f} {y:.1f}H{a:.1f}" class="wi-way"/>'
                '<circle cx="{b:.1f}" cy="{y:.1f}" r="5" class="wi-before"/>'
                '<circle cx="{a:.1f}" cy="{y:.1f}" r="5" class="wi-after"/>'
            ).format(t=y + 5, code=code, post=post, u=y - 9, b=before, a=after, y=y)
        )
    label = _(
        "Every open job: the promised date, and the expected date before and after the change."
    )
    head = Markup('<svg class="what-if" role="img" aria-label="{}" viewBox="0 0 {} {}">').format(
        label, WIDTH, round(height)
    )
    return head + Markup("").join(shapes) + Markup("</svg>")


def _days(first: datetime, last: datetime, x: object, height: float) -> Markup:
    """Draw a thin line at each local midnight, labelled where there is room."""
    assert callable(x)
    here = local(first)
    assert isinstance(here, datetime)
    day = here.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)
    count = max(1, (last - first).days)
    every = -(-count // 4)
    shapes = []
    n = 0
    while day < last:
        at = x(day)
        shapes.append(Markup('<path d="M{:.1f} 22V{:.0f}" class="wi-day"/>').format(at, height))
        if n % every == 0 and at < WIDTH - 60:
            word = short_day(day)
            shapes.append(
                Markup('<text x="{:.1f}" y="16" class="wi-word">{}</text>').format(at, word)
            )
        day, n = day + timedelta(days=1), n + 1
    return Markup("").join(shapes)
