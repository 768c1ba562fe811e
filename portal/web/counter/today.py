"""Today: the day in one look, on one page."""

from typing import Any

from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.craft.bakes import Bake
from portal.craft.quantities import Quantity, Unit
from portal.orders.counter import call_list, today_view
from portal.orders.counter.questions_view import to_answer
from portal.orders.counter.threads_view import threads_to_answer
from portal.orders.counter.today_view import Today
from portal.orders.office import powder_orders
from portal.orders.production.due_view import DueLoad, DueRun
from portal.shop.roles import Role
from portal.web.counter.desk import counted_parts, page, to
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import clock_time, render
from portal.web.kit.request_context import unit
from portal.web.pictures.day_line import DayMark, Lane, day_line


@require_role(Role.COUNTER)
def today() -> Response:
    """Show what comes and goes out, who waits, what is due in the oven and the van, and money."""
    found = today_view.today(unit())
    return page(
        "today",
        day=found,
        line=_line(found),
        loads=[(one, _load_in_words(one)) for one in found.loads if not one.closed],
        runs=[(one, _run_in_words(one)) for one in found.runs],
        calls=call_list.to_call(unit()),
        questions=to_answer(unit()),
        threads=threads_to_answer(unit()),
        buy=powder_orders.to_buy(unit()),
    )


@require_role(Role.COUNTER)
def arriving() -> Response:
    """Redirect to the page that has the arrivals now."""
    return to("today")


def _line(day: Today) -> str:
    if day.opens is None or day.closes is None:
        return ""
    return day_line(
        day.opens,
        day.closes,
        day.now,
        (
            Lane(_("Door"), _door(day)),
            Lane(_("Oven"), tuple(_load_mark(one) for one in day.loads)),
            Lane(_("Van"), tuple(_run_mark(one) for one in day.runs)),
        ),
    )


def _door(day: Today) -> tuple[DayMark, ...]:
    late = {one.job_id for one in day.coming.late}
    return tuple(
        DayMark(
            one.row.dropoff_at,
            _surname(one.row.name),
            "done" if one in day.coming.came else "late" if one.job_id in late else "",
        )
        for one in (*day.coming.came, *day.coming.expected)
    )


def _load_mark(one: DueLoad) -> DayMark:
    kind = "closed" if one.closed else "late" if one.overdue else "now" if one.running else "box"
    return DayMark(one.starts_at, _load_name(one), kind, one.ends_at)


def _load_name(one: DueLoad) -> str:
    bake = _("Pre-bake") if one.bake is Bake.PRE_BAKE else ""
    heat = render(Quantity(one.set_point_c, Unit.CELSIUS))
    return " · ".join(part for part in (str(one.number or ""), heat, bake) if part)


def _run_mark(one: DueRun) -> DayMark:
    kind = "late" if one.overdue else "closed" if one.done else "box"
    if one.back:
        words = _("Run %(run)s back", run=one.number)
    elif one.number:
        words = _("Run %(run)s out", run=one.number)
    else:
        words = _("Run leaves")
    return DayMark(one.at, words, kind)


def _load_in_words(one: DueLoad) -> Any:
    """Return a load as a sentence: when, how hot, how many parts."""
    values = {
        "load": one.number,
        "heat": render(Quantity(one.set_point_c, Unit.CELSIUS)),
        "starts": clock_time(one.starts_at),
        "ends": clock_time(one.ends_at),
        "parts": counted_parts(one.parts),
    }
    if one.planned:
        return _("Planned %(starts)s to %(ends)s: %(heat)s, %(parts)s", **values)
    if one.overdue:
        return _("Load %(load)s should have come out at %(ends)s: %(heat)s, %(parts)s", **values)
    return _("Load %(load)s comes out at %(ends)s: %(heat)s, %(parts)s", **values)


def _run_in_words(one: DueRun) -> Any:
    values = {"run": one.number, "time": clock_time(one.at), "parts": counted_parts(one.parts)}
    if not one.number:
        return _("A strip run leaves at %(time)s. Nothing is gathered for it yet.", **values)
    return _back_in_words(one, values) if one.back else _out_in_words(one, values)


def _out_in_words(one: DueRun, values: dict[str, Any]) -> Any:
    if one.done:
        return _("Strip run %(run)s left at %(time)s: %(parts)s", **values)
    if one.overdue:
        return _("Strip run %(run)s has not left yet: %(parts)s", **values)
    return _("Strip run %(run)s leaves at %(time)s: %(parts)s", **values)


def _back_in_words(one: DueRun, values: dict[str, Any]) -> Any:
    if one.done:
        return _("Strip run %(run)s came back at %(time)s: %(parts)s", **values)
    if one.overdue:
        return _("Strip run %(run)s should be back: %(parts)s", **values)
    return _("Strip run %(run)s comes back at %(time)s: %(parts)s", **values)


def _surname(name: str) -> str:
    """Return the last word of a name: what fits on the line."""
    return name.rsplit(maxsplit=1)[-1] if name.split() else name
