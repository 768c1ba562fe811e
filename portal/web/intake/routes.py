"""The addresses of this audience in one table."""

from collections.abc import Callable

from flask import Blueprint, redirect, render_template, request
from flask.typing import ResponseReturnValue

from portal.orders.kernel.errors import Ended
from portal.shop.policies import Policy
from portal.web.intake import (
    art,
    ask,
    comes_off,
    day,
    finish,
    landing,
    live,
    on_them,
    parts,
    policies,
    read_back,
    resume,
    you,
)
from portal.web.intake.page import RedirectTo
from portal.web.kit.http.csrf import checks_its_form

blueprint = Blueprint("intake", __name__)

# a page with photos may be this large: a photo above its own limit is refused beside its field,
# and what was typed is still there
MOST_SENT = 64_000_000
WITH_PHOTOS = ("intake.one_set", "intake.ask", "intake.from_page")

PAGES: dict[str, Callable[..., ResponseReturnValue]] = {
    "/o/<token>/parts": parts.parts,
    "/o/<token>/parts/<key>": parts.one_set,
    "/o/<token>/parts/<key>/remove": parts.remove_set,
    "/o/<token>/on-them": on_them.on_them,
    "/o/<token>/comes-off": comes_off.comes_off,
    "/o/<token>/finish": finish.finish,
    "/o/<token>/day": day.day,
    "/o/<token>/you": you.you,
    "/o/<token>/read-back": read_back.read_back,
    "/o/<token>/later": resume.later,
    "/o/<token>/ask": ask.ask,
}

blueprint.add_url_rule("/", view_func=landing.landing, methods=["GET"])
for _policy in Policy:
    blueprint.add_url_rule(
        f"/{_policy.value}", _policy.value, policies.page_of(_policy), methods=["GET"]
    )
blueprint.add_url_rule("/why-powder", view_func=landing.why_powder, methods=["GET"])
blueprint.add_url_rule("/figures", view_func=landing.figures, methods=["GET"])
blueprint.add_url_rule("/picture/<sheet>.svg", view_func=art.picture, methods=["GET"])
blueprint.add_url_rule("/o", view_func=resume.begin, methods=["POST"])
blueprint.add_url_rule("/r/<token>", view_func=resume.resume, methods=["GET"])
blueprint.add_url_rule(
    "/o/<token>/ask/from", view_func=checks_its_form(ask.from_page), methods=["POST"]
)
blueprint.add_url_rule("/o/<token>/asked", view_func=ask.asked, methods=["GET"])
blueprint.add_url_rule("/o/<token>/price", view_func=live.price, methods=["POST"])
for _address, _page in PAGES.items():
    # each page's own form asks for the token, and shows again what was typed when it is stale
    blueprint.add_url_rule(_address, view_func=checks_its_form(_page), methods=["GET", "POST"])


@blueprint.before_request
def allow_photos() -> None:
    """Raise the size limit on pages with photos, so that they can report errors."""
    if request.endpoint in WITH_PHOTOS:
        request.max_content_length = MOST_SENT


@blueprint.errorhandler(Ended)
def has_ended(refusal: Ended) -> ResponseReturnValue:
    """Show when a draft ended, and offer to start again."""
    return render_template("intake/ended.html", refusal=refusal), 410


@blueprint.errorhandler(RedirectTo)
def go_elsewhere(elsewhere: RedirectTo) -> ResponseReturnValue:
    """Redirect to the page where the order continues."""
    return redirect(elsewhere.url, 303)
