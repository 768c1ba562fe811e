"""Privacy and terms: the shop's own text in the page's language, else the standard one."""

from collections.abc import Callable, Iterable
from itertools import groupby

from flask import render_template
from flask.typing import ResponseReturnValue

from portal.craft.messages import Message
from portal.orders.office.policies import text_of
from portal.shop.policies import Block, BlockKind, Policy
from portal.web.kit.http.security import in_the_open
from portal.web.kit.i18n.languages import language
from portal.web.kit.request_context import shop


def page_of(policy: Policy) -> Callable[[], ResponseReturnValue]:
    """Return the view function of one of the two pages."""

    @in_the_open
    def view() -> ResponseReturnValue:
        blocks = text_of(policy, shop(), language())
        return render_template("intake/policy.html", policy=policy, pieces=together(blocks))

    return view


def together(blocks: Iterable[Block]) -> list[tuple[BlockKind, list[Message | str]]]:
    """Return the pieces with the entries of each list grouped."""
    found: list[tuple[BlockKind, list[Message | str]]] = []
    for kind, group in groupby(blocks, key=lambda one: one.kind):
        says = [one.says for one in group]
        found += [(kind, says)] if kind is BlockKind.ITEM else [(kind, [one]) for one in says]
    return found
