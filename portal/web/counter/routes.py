"""The addresses of this audience: one table, read at a glance."""

from flask import Blueprint

from portal.web.counter import (
    check_in,
    colour,
    differs,
    floor,
    hand_back,
    inspect,
    job,
    lists,
    lost,
    manifest,
    offline,
    oven,
    pay,
    runs,
    scanning,
    tags,
)

blueprint = Blueprint("counter", __name__, url_prefix="/counter")

BOTH = ["GET", "POST"]
LOOK = ["GET"]
DO = ["POST"]

for rule, name, view, methods in (
    ("/", "front", lists.front, LOOK),
    ("/arriving", "arriving", lists.arriving, LOOK),
    ("/shelf", "shelf", lists.shelf, LOOK),
    ("/find", "find", scanning.find, LOOK),
    ("/scan", "scan", scanning.scan, BOTH),
    ("/scans", "scans", scanning.scans, DO),
    ("/offline", "offline", offline.shell, LOOK),
    ("/offline-worker.js", "offline_worker", offline.worker, LOOK),
    ("/station-labels", "station_labels", scanning.station_labels, LOOK),
    ("/job/<code>", "job", job.job, LOOK),
    ("/job/<code>/start", "start", job.start, DO),
    ("/job/<code>/ready", "ready", job.ready, DO),
    ("/job/<code>/take-back", "take_back", job.take_back, DO),
    ("/job/<code>/bag-here", "bag_here", job.bag_here, DO),
    ("/job/<code>/answer", "answer", job.answer, DO),
    ("/job/<code>/pay", "pay", pay.pay, BOTH),
    ("/job/<code>/end", "end", job.end, DO),
    ("/job/<code>/called", "called", lists.called, DO),
    ("/job/<code>/not-brought", "not_brought", job.not_brought, DO),
    ("/job/<code>/check-in", "check_in", check_in.check_in, LOOK),
    ("/job/<code>/as-declared", "as_declared", check_in.as_declared, DO),
    ("/job/<code>/look-again", "look_again", check_in.look_again, DO),
    ("/job/<code>/tag-off", "tag_off", check_in.take_tag_off, DO),
    ("/job/<code>/bag", "add_bag", check_in.add_bag, DO),
    ("/job/<code>/bag-off", "drop_bag", check_in.drop_bag, DO),
    ("/job/<code>/stamps", "stamps", check_in.stamps, DO),
    ("/job/<code>/photo", "photo", check_in.photo, DO),
    ("/job/<code>/receive", "receive", check_in.receive, DO),
    ("/job/<code>/differs", "differs", differs.differs, BOTH),
    ("/job/<code>/colour", "colour", colour.colour, BOTH),
    ("/job/<code>/hand-back", "hand_back", hand_back.hand_back, BOTH),
    ("/floor", "floor", floor.board, LOOK),
    ("/floor/move", "move", floor.move, DO),
    ("/floor/undo", "undo", floor.undo, DO),
    ("/part/<int:part_id>/rework", "rework", floor.rework, BOTH),
    ("/part/<int:part_id>/lost", "lost", lost.lost, BOTH),
    ("/part/<int:part_id>/found", "found", lost.found, DO),
    ("/part/<int:part_id>/inspect", "inspect", inspect.inspect, BOTH),
    ("/strip-runs", "runs", runs.all_runs, BOTH),
    ("/strip-runs/<int:run_id>", "run", runs.run, LOOK),
    ("/strip-runs/<int:run_id>/manifest", "manifest", manifest.manifest, LOOK),
    ("/strip-runs/<int:run_id>/manifest.pdf", "manifest_pdf", manifest.manifest_pdf, LOOK),
    ("/strip-runs/<int:run_id>/gather", "gather", runs.gather, DO),
    ("/strip-runs/<int:run_id>/take-out", "take_out", runs.take_out, DO),
    ("/strip-runs/<int:run_id>/send", "send_run", runs.send, DO),
    ("/strip-runs/<int:run_id>/close", "close_run", runs.close, DO),
    ("/oven", "oven", oven.show, LOOK),
    ("/oven/start", "start_load", oven.start, DO),
    ("/oven/<int:load_id>/close", "close_load", oven.close, DO),
    ("/tags", "tags", tags.show, LOOK),
    ("/tags/add", "add_tags", tags.add, DO),
    ("/tags/retire", "retire_tag", tags.retire, DO),
):
    blueprint.add_url_rule(rule, name, view, methods=methods)
