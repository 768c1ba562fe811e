"""Frozen settings, read once from the environment. No other module looks at the environment."""

import os
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from portal.craft.messages import Message

HOUSE = Path(__file__).resolve().parent.parent


class BadSetting(ValueError):
    """An invalid setting; the sentence names it."""

    def __init__(self, sentence: Message) -> None:
        super().__init__(repr(sentence))
        self.sentence = sentence


@dataclass(frozen=True, slots=True)
class Settings:
    """How this portal runs here.

    `base_url` is what stands in links and QR codes; `https` switches on what only makes sense
    behind TLS (HSTS, `__Host-` cookies).
    """

    database_url: str
    base_url: str
    secret_key: str
    data_dir: Path
    template_dir: Path = HOUSE / "templates"
    static_dir: Path = HOUSE / "static"
    seed_dir: Path = HOUSE / "demo_seed"
    demo: bool = False
    smtp_url: str = ""
    mail_from: str = "works@example.com"
    photo_limit_mb: int = 15
    port: int = 8000

    @property
    def https(self) -> bool:
        """Whether customers reach us through TLS."""
        return self.base_url.lower().startswith("https://")


def kept_secret(data_dir: Path) -> str:
    """Return the secret kept beside the data, made on the first start and readable by us alone."""
    path = data_dir / "secret_key"
    data_dir.mkdir(parents=True, exist_ok=True)
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text(encoding="ascii").strip()
    with os.fdopen(handle, "w", encoding="ascii") as out:
        out.write(secrets.token_urlsafe(48))
    return path.read_text(encoding="ascii").strip()


def read_language(environ: Mapping[str, str] | None = None) -> str:
    """Return the language that the environment asks for (`LC_ALL`, `LC_MESSAGES`, `LANG`): de."""
    env = os.environ if environ is None else environ
    asked = next((env[name] for name in ("LC_ALL", "LC_MESSAGES", "LANG") if env.get(name)), "")
    return asked.partition(".")[0].partition("_")[0].lower()


def read_settings(environ: Mapping[str, str] | None = None, **over: object) -> Settings:
    """Read `PORTAL_*` (and `DATABASE_URL`, `PORT`) from the environment; `over` wins."""
    env = os.environ if environ is None else environ
    data_dir = Path(env.get("PORTAL_DATA", str(HOUSE / "data")))
    port = env.get("PORT", "8000")
    if not port.isdigit() or not 0 < int(port) < 65536:
        raise BadSetting(
            Message("PORT is “{port}”. It must be a number from 1 to 65535.", port=port)
        )
    values: dict[str, object] = {
        "database_url": env.get("DATABASE_URL", f"sqlite:///{data_dir / 'portal.sqlite3'}"),
        "base_url": env.get("PORTAL_URL", f"http://127.0.0.1:{port}").rstrip("/"),
        "data_dir": data_dir,
        "port": int(port),
        "demo": env.get("PORTAL_DEMO", "") == "1",
        "smtp_url": env.get("PORTAL_SMTP", ""),
        "mail_from": env.get("PORTAL_MAIL_FROM", "works@example.com"),
    }
    values.update(over)
    if "secret_key" not in values:
        kept_in = Path(str(values["data_dir"]))
        values["secret_key"] = env.get("PORTAL_SECRET") or kept_secret(kept_in)
    return Settings(**values)  # type: ignore[arg-type]  # mixed values, checked by the tests
