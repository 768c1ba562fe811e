"""Frozen settings, read once from the environment. No other module looks at the environment."""

import os
import secrets
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from email.utils import parseaddr
from pathlib import Path
from urllib.parse import urlsplit

from portal.craft.messages import Message

HOUSE = Path(__file__).resolve().parent.parent


class BadSetting(ValueError):
    """Invalid settings; each sentence names one."""

    def __init__(self, *sentences: Message) -> None:
        super().__init__("; ".join(repr(one) for one in sentences))
        self.sentences = sentences

    @property
    def sentence(self) -> Message:
        """The first of them."""
        return self.sentences[0]


@dataclass(frozen=True, slots=True)
class Settings:
    """How this portal runs here.

    `base_url` is what stands in links and QR codes; `https` switches on what only makes sense
    behind TLS (HSTS, `__Host-` cookies). `proxies` is how many stand between us and a visitor:
    so many forwarded addresses are believed, and none more. `push_local` lets messages go to push
    services on this machine, for a trial.
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
    text_url: str = ""
    text_key: str = field(default="", repr=False)
    push_local: bool = False
    photo_limit_mb: int = 15
    port: int = 8000
    proxies: int = 0
    metrics_token: str = field(default="", repr=False)

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


def wrong_in(env: Mapping[str, str]) -> Iterator[Message]:
    """Yield a sentence for each value that can't be used and each name that we don't know."""
    for name, check in CHECKS.items():
        if env.get(name) and (wrong := check(env[name])):
            yield wrong
    for name in sorted(env):
        if name.startswith("PORTAL_") and name not in NAMES:
            near = get_close_matches(name, NAMES, 1)
            yield (
                Message("There is no setting {name}. Did you mean {near}?", name=name, near=near[0])
                if near
                else Message("There is no setting {name}.", name=name)
            )


def _port(value: str) -> Message | None:
    if value.isascii() and value.isdigit() and 0 < int(value) < 65536:
        return None
    return Message("PORT is “{port}”. It must be a number from 1 to 65535.", port=value)


def _url(value: str) -> Message | None:
    try:
        parts = urlsplit(value)
        sound = parts.scheme in {"http", "https"} and parts.hostname and parts.port != 0
    except ValueError:
        sound = False
    if sound and not parts.query and not parts.fragment:
        return None
    return Message(
        "PORTAL_URL is “{url}”. It must be an address such as https://portal.example.com.",
        url=value,
    )


def _database(value: str) -> Message | None:
    # the address is not repeated: a password may stand in it
    if value.startswith(("sqlite:///", "postgresql://", "postgresql+")):
        return None
    return Message("DATABASE_URL must begin with postgresql:// or sqlite:///.")


def _smtp(value: str) -> Message | None:
    from portal.notices.transport import BadWire, wire_for  # noqa: PLC0415  # loads TLS

    try:
        wire_for(value)
    except BadWire as wrong:
        return Message("PORTAL_SMTP: {why}", why=wrong.sentence)
    return None


def _mail_from(value: str) -> Message | None:
    name, at, host = parseaddr(value)[1].rpartition("@")
    if name and at and host:
        return None
    return Message("PORTAL_MAIL_FROM is “{address}”. It must be an e-mail address.", address=value)


def _text_url(value: str) -> Message | None:
    if _url(value) is None:
        return None
    return Message(
        "PORTAL_TEXT_URL is “{url}”. It must be an address such as https://texts.example.com/send.",
        url=value,
    )


def _text_key(value: str) -> Message | None:
    if len(value) >= SECRET_LENGTH:
        return None
    return Message("PORTAL_TEXT_KEY must have {n} characters or more.", n=SECRET_LENGTH)


def _secret(value: str) -> Message | None:
    if len(value) >= SECRET_LENGTH:
        return None
    return Message("PORTAL_SECRET must have {n} characters or more.", n=SECRET_LENGTH)


def _proxies(value: str) -> Message | None:
    if len(value) == 1 and value.isascii() and value.isdigit():
        return None
    return Message("PORTAL_PROXIES is “{value}”. It must be a number from 0 to 9.", value=value)


def _metrics(value: str) -> Message | None:
    if len(value) >= TOKEN_LENGTH:
        return None
    return Message("PORTAL_METRICS must have {n} characters or more.", n=TOKEN_LENGTH)


SECRET_LENGTH, TOKEN_LENGTH = 32, 16
CHECKS: dict[str, Callable[[str], Message | None]] = {
    "PORT": _port,
    "PORTAL_URL": _url,
    "DATABASE_URL": _database,
    "PORTAL_SMTP": _smtp,
    "PORTAL_MAIL_FROM": _mail_from,
    "PORTAL_TEXT_URL": _text_url,
    "PORTAL_TEXT_KEY": _text_key,
    "PORTAL_SECRET": _secret,
    "PORTAL_PROXIES": _proxies,
    "PORTAL_METRICS": _metrics,
}
NAMES = (*CHECKS, "PORTAL_DATA", "PORTAL_DEMO", "PORTAL_PUSH_LOCAL")


def read_settings(environ: Mapping[str, str] | None = None, **over: object) -> Settings:
    """Read `PORTAL_*` (and `DATABASE_URL`, `PORT`) from the environment; `over` wins.

    Raise BadSetting with a sentence for each that is wrong.
    """
    env = os.environ if environ is None else environ
    wrong = tuple(wrong_in(env))
    if wrong:
        raise BadSetting(*wrong)
    data_dir = Path(env.get("PORTAL_DATA") or HOUSE / "data")
    port = int(env.get("PORT", "8000"))
    values: dict[str, object] = {
        "database_url": env.get("DATABASE_URL") or f"sqlite:///{data_dir / 'portal.sqlite3'}",
        "base_url": (env.get("PORTAL_URL") or f"http://127.0.0.1:{port}").rstrip("/"),
        "data_dir": data_dir,
        "port": port,
        "demo": env.get("PORTAL_DEMO", "") == "1",
        "smtp_url": env.get("PORTAL_SMTP", ""),
        "mail_from": env.get("PORTAL_MAIL_FROM") or "works@example.com",
        "text_url": env.get("PORTAL_TEXT_URL", ""),
        "text_key": env.get("PORTAL_TEXT_KEY", ""),
        "push_local": env.get("PORTAL_PUSH_LOCAL", "") == "1",
        "metrics_token": env.get("PORTAL_METRICS", ""),
        "proxies": int(env.get("PORTAL_PROXIES") or 0),
    }
    values.update(over)
    if "secret_key" not in values:
        kept_in = Path(str(values["data_dir"]))
        values["secret_key"] = env.get("PORTAL_SECRET") or kept_secret(kept_in)
    return Settings(**values)  # type: ignore[arg-type]  # mixed values, checked by the tests
