"""The filters of the pages: those of `portal.render` for this request, and a few that make HTML."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from flask import Flask
from jinja2 import pass_context
from jinja2.runtime import Context
from markupsafe import Markup, escape

from portal.craft.part_names import set_names
from portal.craft.parts import PartSet
from portal.craft.quantities import UnitSystem
from portal.render.filters import FILTERS
from portal.render.reader import Reader
from portal.shop.pricing.statements import DateStatement
from portal.web.kit.i18n import languages, measures
from portal.web.kit.i18n.languages import dated, day, local, reader, render
from portal.web.kit.request_context import shop


def when(moment: date) -> Markup:
    """Return a `<time>` with the day, and the hour where there is one, in the shop's zone."""
    here = local(moment)
    text = day(moment)
    if isinstance(here, datetime):
        text = f"{text}, {here:%H:%M}"
    return Markup('<time datetime="{}">{}</time>').format(here.isoformat(), text)


def on_record(moment: date) -> Markup:
    """Return a `<time>` with day, year and hour, for what is kept for years."""
    here = local(moment)
    text = dated(moment)
    if isinstance(here, datetime):
        text = f"{text}, {here:%H:%M}"
    return Markup('<time datetime="{}">{}</time>').format(here.isoformat(), text)


def on_day(moment: date) -> Markup:
    """Return a `<time>` with the day, in the shop's zone."""
    here = local(moment)
    return Markup('<time datetime="{}">{}</time>').format(here.isoformat()[:10], day(moment))


def stated(date_: DateStatement) -> Markup:
    """Return when an order is ready, with the hour where the date is firm."""
    return when(date_.promised) if date_.firm else escape(render(date_.sentence))


def called(part_set: PartSet, sets: Iterable[PartSet] = ()) -> str:
    """Return the name of a set among the `sets` of its order: '2 × 19 × 8½ front'."""
    every = list(sets) or [part_set]
    colours = {code: powder.name for code, powder in shop().stock.items()}
    return render(set_names(every, colours)[part_set.key].of_set)


def metric() -> Reader:
    """Return the reader of this page with the units of the works: for what the counter reads."""
    return replace(reader(), units=UnitSystem.METRIC)


def _for_this_page(show: Callable[[Any, Reader], str]) -> Callable[..., str]:
    # a filter that asks for its context is never worked out when the template is compiled
    @pass_context
    def shown(_context: Context, value: Any, whose: Reader | None = None) -> str:
        return show(value, whose or reader())

    return shown


def init_app(app: Flask) -> None:
    """Give the templates their filters."""
    app.jinja_env.filters |= {name: _for_this_page(show) for name, show in FILTERS.items()}
    app.jinja_env.filters |= {
        one.__name__: one for one in (when, on_day, on_record, stated, called)
    }
    app.jinja_env.globals["metric"] = metric
    app.jinja_env.globals["language"] = languages.language
    app.jinja_env.globals["languages"] = languages.offered
    app.jinja_env.globals["measures"] = measures
