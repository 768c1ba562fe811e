"""A small page with planted faults, to show that each tool finds what it is for.

`python -m tests.scan.planted PORT` serves it: a name that is put into the page as it comes (XSS), a
search that is put into a statement (SQL injection), and a count that is believed to be a number.
"""

import sqlite3  # noqa: TID251  # the planted fault has a database of its own
import sys

from flask import Flask, request

PAGE = """<!doctype html><html lang="en"><title>Planted</title><h1>Planted faults</h1>
<form action="/hello"><input name="name" value="Robin"><button>Greet</button></form>
<form action="/find"><input name="number" value="1"><button>Find</button></form>
<form action="/count" method="post"><input name="count" value="4"><button>Count</button></form>
"""


def planted_app() -> Flask:
    app = Flask(__name__)
    base = sqlite3.connect(":memory:", check_same_thread=False)
    base.executescript(
        "CREATE TABLE wheel (id INTEGER, name TEXT); INSERT INTO wheel VALUES (1, 'a')"
    )

    @app.get("/")
    def front() -> str:
        return PAGE

    @app.get("/hello")
    def hello() -> str:
        return f"<!doctype html><p>Hello {request.args.get('name', '')}</p>"

    @app.get("/find")
    def find() -> str:
        number = request.args.get("number", "1")
        try:
            rows = base.execute(f"SELECT name FROM wheel WHERE id = {number}").fetchall()
        except sqlite3.Error as wrong:
            return f"<!doctype html><p>sqlite3.OperationalError: {wrong}</p>"
        return f"<!doctype html><p>Found: {len(rows)}</p>"

    @app.post("/count")
    def count() -> str:
        return f"<!doctype html><p>{int(request.form.get('count', '4'))} wheels</p>"

    return app


if __name__ == "__main__":
    planted_app().run(port=int(sys.argv[1]), threaded=True)
