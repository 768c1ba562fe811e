"""What a virtual screen reader says of a page, line by line, and the texts it is held against.

The reader follows the W3C's specifications of names, roles and mappings; what it says is less than
real screen readers and their users would tell. Left out are its lines that open a paragraph and
close what was opened; a job's code is masked, because it is drawn.
"""

import difflib
import os
import re
from pathlib import Path

import pytest
from playwright.sync_api import Page

TOOL = Path(__file__).parents[1] / "node_modules" / "@guidepup" / "virtual-screen-reader"
BUNDLE = TOOL / "lib" / "esm" / "index.browser.js"
SPOKEN = Path(__file__).with_name("spoken")
RENEW = "SPOKEN"  # in the environment: write what is said
LONGEST = 2000  # phrases
# the reader knows no style sheets: what lies in a closed fold is hidden from it as from others
LISTEN = """async ([place, longest]) => {
  for (const one of document.querySelectorAll("noscript")) one.setAttribute("aria-hidden", "true");
  for (const fold of document.querySelectorAll("details:not([open])"))
    for (const one of fold.children)
      if (one.localName !== "summary") one.setAttribute("aria-hidden", "true");
  await virtual.start({ container: document.querySelector(place) });
  const last = `end of ${await virtual.lastSpokenPhrase()}`;
  for (let n = 0; n < longest && (await virtual.lastSpokenPhrase()) !== last; n++)
    await virtual.next();
  const said = await virtual.spokenPhraseLog();
  await virtual.stop();
  return said;
}"""


def reader_script() -> str:
    """Return the reader as a script that gives each page a `virtual`; pages' policies stay."""
    text = BUNDLE.read_text(encoding="utf-8")
    exports = re.search(r"export\{[^}]*?(\w+\$?) as virtual\};?", text)
    assert exports, "the reader's bundle has another form"
    body = text[: exports.start()] + f"globalThis.virtual = {exports[1]};" + text[exports.end() :]
    return f"(() => {{{body}\n}})();"


def spoken(page: Page, place: str = "main") -> str:
    """Return all that is said from the top of `place` to its end, a phrase a line."""
    said = page.evaluate(LISTEN, [place, LONGEST])
    assert len(said) < LONGEST, "the reader never came to the end"
    return "".join(f"{_masked(one)}\n" for one in said if _says_something(one))


def _says_something(phrase: str) -> bool:
    return phrase.strip() not in ("", "paragraph") and not phrase.startswith("end of ")


def _masked(phrase: str) -> str:
    return re.sub(r"\b[0-9A-Z]{4}-[0-9A-Z]{4}\b", "XXXX-XXXX", phrase)


def hold_against(name: str, said: str) -> None:
    """Compare with what `name`.txt says; `make spoken` writes it anew."""
    file = SPOKEN / f"{name}.txt"
    if RENEW in os.environ:
        SPOKEN.mkdir(exist_ok=True)
        file.write_text(said, encoding="utf-8")
    kept = file.read_text(encoding="utf-8") if file.exists() else ""
    if said != kept:
        told = "\n".join(difflib.unified_diff(kept.splitlines(), said.splitlines(), lineterm=""))
        pytest.fail(f"{name} is read aloud in other words (`make spoken` takes them):\n{told}")
