"""Files for running it elsewhere: units that systemd takes, a container with what it needs."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from portal.render.compiling import compile_catalogues
from tests.conftest import HOUSE

DEPLOY = HOUSE / "portal" / "deploy"
UNITS = ("portal.service", "portal-backup.service", "portal-backup.timer")


def verified(folder: Path, change: tuple[str, str] = ("", "")) -> str:
    """What systemd says of the units, with the repository where it lies here."""
    assert shutil.which("systemd-analyze"), "make test installs the package systemd"
    for name in UNITS:
        text = (DEPLOY / name).read_text("utf-8").replace("/opt/portal", str(HOUSE))
        (folder / name).write_text(text.replace(*change), "utf-8")
    done = subprocess.run(
        ["systemd-analyze", "verify", *(folder / name for name in UNITS)],
        capture_output=True,
        text=True,
        check=False,
    )
    return "" if done.returncode == 0 and not done.stderr else done.stdout + done.stderr or "wrong"


def test_systemd_finds_nothing_wrong_with_the_units(tmp_path: Path) -> None:
    assert verified(tmp_path) == ""


@pytest.mark.parametrize(
    "change",
    [
        ("NoNewPrivileges=yes", "NoNewPrivileges=perhaps"),
        ("Restart=always", "Restrat=always"),
        ("OnCalendar=*-*-* 00/6:17", "OnCalendar=at noon"),
        ("python -m portal serve", "pyhton -m portal serve"),
    ],
)
def test_a_wrong_line_of_a_unit_is_found(tmp_path: Path, change: tuple[str, str]) -> None:
    assert verified(tmp_path, change)


def test_the_container_has_all_that_runs_and_nothing_of_the_repository_beside_it() -> None:
    text = (DEPLOY / "Containerfile").read_text("utf-8")
    copied = [line.split()[1] for line in re.findall(r"^COPY .*$", text, re.M)]
    assert [one for one in copied if not (HOUSE / one).exists()] == []
    assert set(copied) == {"requirements.lock.txt", "portal", "templates", "static", "demo_seed"}
    assert re.search(r"^USER portal$", text, re.M)


def test_the_container_compiles_the_languages_as_the_set_up_does(tmp_path: Path) -> None:
    own = "python -m portal.render.compiling"
    assert re.search(rf"^RUN {own}$", (DEPLOY / "Containerfile").read_text("utf-8"), re.M)
    assert own in (HOUSE / ".ci" / "set-up").read_text("utf-8")
    for one in (HOUSE / "portal" / "locale").glob("*/LC_MESSAGES/messages.po"):
        made = tmp_path / one.parts[-3] / "LC_MESSAGES"
        made.mkdir(parents=True)
        shutil.copy(one, made)
    compile_catalogues(tmp_path)
    assert len(list(tmp_path.rglob("*.mo"))) == len(list(tmp_path.rglob("*.po"))) > 1
