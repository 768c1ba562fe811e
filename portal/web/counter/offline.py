"""What a phone on the floor keeps for the time without a network: one page that takes scans.

The page names nobody and holds no token: the browser's worker fetches it without a cookie, keeps
it with its styles and scripts, and shows it where a page of the counter can't be reached. Scans
are kept by the device and go out when a real page opens again.
"""

from flask import current_app, make_response, render_template
from werkzeug.wrappers import Response

from portal.shop.route import STATIONS
from portal.web.counter.desk import SCANS
from portal.web.kit.http import assets


def shell() -> Response:
    """Render the page that is kept."""
    return make_response(render_template("counter/offline.html", stations=STATIONS, scans=SCANS))


def worker() -> Response:
    """Serve the worker from the counter's own folder, which is as far as its say reaches."""
    found: assets.Assets = current_app.extensions["assets"]
    return assets.answer(found.files["js/offline_worker.js"], keep="no-cache")
