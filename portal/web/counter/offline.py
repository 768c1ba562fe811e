"""The page that takes scans while a phone on the floor has no network.

It names nobody and holds no token: the browser's worker fetches it without a cookie, keeps it with
its styles and scripts, and shows it where a counter page can't be reached. The device keeps the
scans and sends them when a real page opens again.
"""

from flask import current_app, make_response, render_template
from werkzeug.wrappers import Response

from portal.shop.route import SCANNED_TO
from portal.web.counter.desk import SCANS
from portal.web.kit.http import assets


def shell() -> Response:
    return make_response(render_template("counter/offline.html", stations=SCANNED_TO, scans=SCANS))


def worker() -> Response:
    """Serve the worker from the counter's own folder, which limits its scope."""
    found: assets.Assets = current_app.extensions["assets"]
    return assets.answer(found.files["js/offline_worker.js"], keep="no-cache")
