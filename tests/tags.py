"""A page read quickly: our own templates close what they open, and this says so where they don't.

The whole rules of HTML5 cost ten times as much; `tests.page` asks them once a shape.
"""

import re
from functools import lru_cache
from html import unescape
from xml.etree.ElementTree import Element, TreeBuilder

VOID = {
    "area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track",
    "wbr",
}  # fmt: skip
# what stands in them is no markup
RAW = {"script", "style"}
SVG = "{http://www.w3.org/2000/svg}"

# what was read is never given back (`++`): a page has thousands of tags
_TAG = re.compile(
    r"""<(?:!--.*?--|![^>]*|(/)?([a-zA-Z][^\s/>]*+)((?:[^"'>]++|"[^"]*+"|'[^']*+')*+))>""",
    re.DOTALL,
)
_ATTRIBUTE = re.compile(r"""([^\s=/"'>]+)(?:\s*=\s*(?:"([^"]*)"|'([^']*)'|([^\s"'>]+)))?""")


@lru_cache(maxsize=20_000)
def _attributes(text: str) -> tuple[dict[str, str], list[str]]:
    """Return the attributes of a tag, and which it has twice; most tags come again and again."""
    known: dict[str, str] = {}
    twice = []
    for name, double, single, bare in _ATTRIBUTE.findall(text):
        value = double or single or bare
        if (name := name.lower()) in known:
            twice.append(name)
        known[name] = unescape(value) if "&" in value else value
    return known, twice


class _Builder:
    """Builds the tree, and notes every tag that is not closed where it should be."""

    def __init__(self) -> None:
        self.tree = TreeBuilder()
        self.open: list[str] = []
        self.faults: list[str] = []
        self.drawings = 0  # how many of what is open are drawings
        self.fresh = False  # nothing stands in the element yet

    def start(self, tag: str, attributes: str, *, closed: bool) -> None:
        known, twice = _attributes(attributes)
        self.faults += [f"<{tag}> says {name} twice" for name in twice]
        self.drawings += tag == "svg"
        # a drawing's own <title> is not the page's, and html5lib names them apart as well
        self.tree.start(SVG + tag if self.drawings else tag, dict(known))
        self.open.append(tag)
        self.fresh = True
        if closed or tag in VOID:
            self.end(tag)

    def end(self, tag: str) -> None:
        if not self.open or self.open[-1] != tag:
            self.faults.append(f"</{tag}> closes {self.open[-1:]}")
            return
        self.open.pop()
        self.drawings -= tag == "svg"
        self.tree.end(tag)

    def data(self, data: str) -> None:
        if self.open:
            # a line break right behind the tag belongs to the tag
            fresh = self.fresh and self.open[-1] in ("textarea", "pre")
            self.tree.data(data.removeprefix("\n") if fresh else data)
        self.fresh = False


def read_tags(html: str) -> tuple[Element, list[str]]:
    """Return the tree of a page or of a piece of one, and what is not closed where it should be."""
    builder = _Builder()
    html = html.replace("\r\n", "\n")  # as a browser reads it
    html = html if "<html" in html else f"<html><body>{html}</body></html>"
    at = 0
    while found := _TAG.search(html, at):
        start = found.start()
        if start > at:
            text = html[at:start]
            builder.data(unescape(text) if "&" in text else text)
        at = found.end()
        close, tag, attributes = found.groups("")
        tag = tag.lower()
        if tag and close:
            builder.end(tag)
        elif tag:
            builder.start(tag, attributes, closed=attributes.endswith("/"))
            if tag in RAW:
                end = max(at, html.find(f"</{tag}", at))
                builder.data(html[at:end])
                at = end
    for tag in reversed(builder.open):
        builder.faults.append(f"<{tag}> is not closed")
        builder.tree.end(tag)
    return builder.tree.close(), builder.faults
