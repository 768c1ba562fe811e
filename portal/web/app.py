"""The application factory: wires everything together and decides nothing."""

import secrets
from collections.abc import Callable
from datetime import datetime

from flask import Flask
from jinja2 import StrictUndefined
from werkzeug.middleware.proxy_fix import ProxyFix

from portal.orders.kernel.unit import open_unit
from portal.settings import Settings
from portal.shop.codes import RandomBytes
from portal.web import pictures
from portal.web.counter import desk, door, scan_by
from portal.web.counter import routes as counter
from portal.web.intake import routes as intake
from portal.web.kit import request_context
from portal.web.kit.http import (
    assets,
    clock,
    compression,
    csrf,
    errors,
    logs,
    metrics,
    photos,
    security,
    sessions,
    system_routes,
    unreadable,
)
from portal.web.kit.i18n import filters, languages
from portal.web.office import pieces
from portal.web.office import routes as office
from portal.web.slip import routes as slip
from portal.web.status import routes as status
from portal.web.trade import routes as trade

BLUEPRINTS = (
    system_routes,
    metrics,
    photos,
    intake,
    slip,
    status,
    trade,
    door,
    counter,
    office,
    pieces,
)
# what a form may send besides a photo
FORM_ROOM = 1_000_000


def create_app(
    settings: Settings,
    *,
    now: Callable[[], datetime] | None = None,
    random_bytes: RandomBytes | None = None,
) -> Flask:
    """Return the portal for `settings`; tests pass their own clock and randomness."""
    app = Flask("portal", static_folder=None, template_folder=str(settings.template_dir))
    app.secret_key = settings.secret_key
    app.config.update(
        MAX_CONTENT_LENGTH=settings.photo_limit_mb * 1_000_000 + FORM_ROOM,
        SESSION_COOKIE_NAME="__Host-form" if settings.https else "form",
        SESSION_COOKIE_SECURE=settings.https,
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        TRAP_HTTP_EXCEPTIONS=False,
    )
    app.extensions["settings"] = settings
    app.extensions["unit"] = open_unit(
        settings.database_url,
        now=now or clock.now,
        random_bytes=random_bytes or secrets.token_bytes,
        base_url=settings.base_url,
    )
    if hops := settings.proxies:
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=hops, x_proto=hops, x_host=hops)  # type: ignore[method-assign]
    _init_extensions(app, settings)
    for room in BLUEPRINTS:
        app.register_blueprint(room.blueprint)
    return app


def _init_extensions(app: Flask, settings: Settings) -> None:
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = True
    app.jinja_env.lstrip_blocks = True
    app.jinja_env.add_extension("jinja2.ext.do")
    app.jinja_env.globals.update(
        shop=request_context.shop,
        shop_or_none=request_context.shop_or_none,
        house_name=request_context.house_name,
        fresh_token=request_context.fresh_token,
        current_person=sessions.current_person,
        scan_by=scan_by.mark,
        scans=desk.SCANS,
    )
    unreadable.init_app(app)
    logs.init_app(app)
    metrics.init_app(app)
    compression.init_app(app)
    security.init_app(app)
    languages.init_app(app)
    filters.init_app(app)
    pictures.init_app(app)
    csrf.init_app(app)
    errors.init_app(app)
    assets.init_app(app, assets.load(settings.static_dir))
