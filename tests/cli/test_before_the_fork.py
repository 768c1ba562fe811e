"""The app is built once, before the workers are forked, and has no connection then."""

import sys
from pathlib import Path

from portal.cli import running
from tests.conftest import settings_for


def serve_with(monkeypatch, settings, look) -> None:
    """Begin to serve, but look at the server where it would fork."""
    # the tests go on in this process
    monkeypatch.setattr(running.gc, "freeze", lambda: None)
    monkeypatch.setattr(running, "SWITCH_S", sys.getswitchinterval())
    monkeypatch.setattr(running._Arbiter, "__init__", lambda _self, app: look(app))
    monkeypatch.setattr(running._Arbiter, "run", lambda _self: None)
    running._Server(settings, host="127.0.0.1", workers=2).run()


def open_files(name: str) -> list[str]:
    """The files of this process whose path has `name`."""
    found = []
    for one in Path("/proc/self/fd").iterdir():
        try:
            found.append(str(one.readlink()))
        except OSError:
            continue  # it was the one of this listing
    return [path for path in found if name in path]


def test_the_app_is_built_once_and_each_worker_gets_it_without_a_connection(
    sqlite_model: Path, tmp_path: Path, monkeypatch
) -> None:
    file = tmp_path / "forked.sqlite3"
    file.write_bytes(sqlite_model.read_bytes())
    built, got = [], []

    def look(server) -> None:
        built.append(server.made)
        assert open_files(file.name) == []
        for _ in range(2):  # as two workers do
            got.append(server.load())
            assert got[-1].test_client().get("/").status_code == 200
            assert open_files(file.name)

    monkeypatch.setattr(running.logs, "to_stderr", lambda _level: None)
    serve_with(monkeypatch, settings_for(f"sqlite:///{file}", tmp_path), look)
    assert got == built * 2
    got[0].extensions["unit"].close()


def test_a_connection_that_was_open_before_the_fork_is_not_the_worker_s(
    sqlite_model: Path, tmp_path: Path, monkeypatch
) -> None:
    """The control: an app that reads while it is built is seen, and loading lets go of it."""
    file = tmp_path / "forked.sqlite3"
    file.write_bytes(sqlite_model.read_bytes())

    def reads(settings):
        made = built(settings)
        made.extensions["unit"].look(made.extensions["unit"].shop)
        return made

    def look(server) -> None:
        assert open_files(file.name)
        server.load()
        assert open_files(file.name) == []

    built = running.create_app
    monkeypatch.setattr(running, "create_app", reads)
    monkeypatch.setattr(running.logs, "to_stderr", lambda _level: None)
    serve_with(monkeypatch, settings_for(f"sqlite:///{file}", tmp_path), look)
