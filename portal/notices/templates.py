"""The templates of letters: one environment for every reader, who comes with each letter."""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context, select_autoescape
from jinja2.runtime import Context

from portal.render.catalogues import catalogue
from portal.render.filters import FILTERS
from portal.render.reader import Reader

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"


@cache
def environment() -> Environment:
    """Return the environment; `reader` is among the values that a template is rendered with."""
    env = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
        extensions=["jinja2.ext.i18n"],
    )
    install: Any = getattr(env, "install_gettext_callables")  # noqa: B009  # the extension adds it
    install(_gettext, _ngettext, newstyle=True)
    env.filters |= {name: _for_its_reader(show) for name, show in FILTERS.items()}
    return env


def _for_its_reader(show: Callable[[Any, Reader], str]) -> Callable[[Context, Any], str]:
    @pass_context
    def shown(context: Context, value: Any) -> str:
        return show(value, context["reader"])

    return shown


@pass_context
def _gettext(context: Context, text: str) -> str:
    return catalogue(context["reader"].language).gettext(text)


@pass_context
def _ngettext(context: Context, one: str, many: str, count: int) -> str:
    return catalogue(context["reader"].language).ngettext(one, many, count)
