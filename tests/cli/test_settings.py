"""Settings: all that is wrong is told at once, each in a sentence, and secrets are not repeated."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from portal.settings import NAMES, BadSetting, read_settings
from tests.conftest import HOUSE
from tests.readers import english


def told(**env: str) -> list[str]:
    with pytest.raises(BadSetting) as refused:
        read_settings(env)
    return [english(one) for one in refused.value.sentences]


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("PORT", "80a", "PORT is “80a”. It must be a number from 1 to 65535."),
        ("PORT", "0", "PORT is “0”"),
        ("PORT", "٨٠", "It must be a number"),
        ("PORTAL_URL", "portal.example.com", "PORTAL_URL is “portal.example.com”"),
        ("PORTAL_URL", "https://portal.example.com:x", "It must be an address"),
        ("PORTAL_URL", "https://portal.example.com/?a=1", "It must be an address"),
        ("DATABASE_URL", "mysql://u:p@h/d", "DATABASE_URL must begin with"),
        ("PORTAL_SMTP", "gopher://x", "PORTAL_SMTP: The mail server's address must begin"),
        ("PORTAL_SMTP", "smtp://host:port", "PORTAL_SMTP: The mail server's address has a port"),
        ("PORTAL_MAIL_FROM", "works", "PORTAL_MAIL_FROM is “works”"),
        ("PORTAL_SECRET", "short", "PORTAL_SECRET must have 32 characters or more."),
        ("PORTAL_METRICS", "short", "PORTAL_METRICS must have 16 characters or more."),
        ("PORTAL_PROXIES", "-1", "PORTAL_PROXIES is “-1”"),
        ("PORTAL_PROXIES", "10", "It must be a number from 0 to 9."),
        ("PORTAL_STMP", "smtp://x", "There is no setting PORTAL_STMP. Did you mean PORTAL_SMTP?"),
        ("PORTAL_XYZQQ", "1", "There is no setting PORTAL_XYZQQ."),
    ],
)
def test_a_wrong_setting_is_told_in_a_sentence(name: str, value: str, says: str) -> None:
    (found,) = told(**{name: value})
    assert says in found


def test_all_that_is_wrong_is_told_at_once_and_no_secret_is_repeated() -> None:
    wrong = {
        "PORT": "x",
        "PORTAL_SECRET": "hunter2",
        "DATABASE_URL": "mysql://root:hunter2@db/x",
        "PORTAL_SMTP": "gopher://u:hunter2@x",
        "PORTAL_SMPT": "smtps://u:hunter2@x",
    }
    found = told(**wrong)
    assert len(found) == len(wrong)
    assert "hunter2" not in " ".join(found)


def test_empty_settings_count_as_left_out(tmp_path: Path) -> None:
    env = dict.fromkeys(NAMES, "") | {"PORTAL_DATA": str(tmp_path)}
    settings = read_settings({name: value for name, value in env.items() if name != "PORT"})
    assert settings.base_url == "http://127.0.0.1:8000"
    assert settings.mail_from == "works@example.com"
    assert settings.proxies == 0


def test_every_setting_stands_in_the_readme() -> None:
    readme = (HOUSE / "README.md").read_text("utf-8")
    assert [name for name in NAMES if f"`{name}`" not in readme] == ["PORTAL_DEMO"]


def test_what_a_command_makes_is_its_owners_alone(tmp_path: Path) -> None:
    env = {k: v for k, v in os.environ.items() if not k.startswith(("PORTAL_", "DATABASE"))}
    data = tmp_path / "data"
    subprocess.run(
        [sys.executable, "-m", "portal", "migrate"],
        env=env | {"PORTAL_DATA": str(data)},
        cwd=HOUSE,
        check=True,
        stdout=subprocess.DEVNULL,
    )
    made = {one: stat.S_IMODE(one.stat().st_mode) for one in (data, *data.iterdir())}
    assert {mode for one, mode in made.items() if one.is_dir()} == {0o700}
    assert {mode for one, mode in made.items() if one.is_file()} == {0o600}
