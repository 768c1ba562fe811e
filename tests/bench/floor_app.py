"""The bare floor that the portal is compared with: one indexed SELECT, one template."""

import os
import threading

from flask import Flask, render_template

from portal.store.sqlite_driver import driver

app = Flask(__name__)
DATABASE = os.environ["FLOOR_DATABASE"]
LINES = max(1, int(os.environ["FLOOR_SIZE"]) // 60)
TEMPLATE = (
    "<!doctype html><html lang=en><title>{{ row[0] }}</title><h1>{{ row[1] }}</h1>"
    + "<p>{{ row[0] }} a line of text that stands for what a page shows</p>\n" * LINES
)
# compiled once, as a file would be
COMPILED = app.jinja_env.from_string(TEMPLATE)
local = threading.local()


@app.get("/healthz")
def healthz() -> str:
    return "ok"


@app.get("/J/<token>")
def job(token: str) -> str:
    if not hasattr(local, "connection"):
        local.connection = driver.connect(DATABASE)
    row = local.connection.execute(
        "SELECT code, summary FROM job WHERE token = ?", (token,)
    ).fetchone()
    return render_template(COMPILED, row=row)
