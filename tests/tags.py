"""A page read quickly: our own templates close what they open, and this says so where they don't.

The whole rules of HTML5 cost five times as much; `tests.page` asks them once a shape.
"""

from html.parser import HTMLParser
from xml.etree.ElementTree import Element, TreeBuilder

VOID = {
    "area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track",
    "wbr",
}  # fmt: skip

SVG = "{http://www.w3.org/2000/svg}"


class _Builder(HTMLParser):
    """Builds the tree, and notes every tag that is not closed where it should be."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tree = TreeBuilder()
        self.open: list[str] = []
        self.faults: list[str] = []
        self.fresh = False  # nothing stands in the element yet

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if len(set(names)) != len(names):
            self._fault(f"<{tag}> says something twice: {names}")
        known = {name: value or "" for name, value in attrs}
        # a drawing's own <title> is not the page's, and html5lib names them apart as well
        self.tree.start(SVG + tag if tag == "svg" or "svg" in self.open else tag, known)
        if tag in VOID:
            self.tree.end(tag)
        else:
            self.open.append(tag)
        self.fresh = True

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1] != tag:
            self._fault(f"</{tag}> closes {self.open[-1:]}")
            return
        self.open.pop()
        self.tree.end(tag)

    def handle_data(self, data: str) -> None:
        if self.open:
            # a line break right behind the tag belongs to the tag
            fresh = self.fresh and self.open[-1] in ("textarea", "pre")
            self.tree.data(data.removeprefix("\n") if fresh else data)
        self.fresh = False

    def updatepos(self, i: int, j: int) -> int:
        """Count no lines: a fault names its tag."""
        del i
        return j

    def _fault(self, says: str) -> None:
        self.faults.append(says)


def read_tags(html: str) -> tuple[Element, list[str]]:
    """Return the tree of a page or of a piece of one, and what is not closed where it should be."""
    builder = _Builder()
    html = html.replace("\r\n", "\n")  # as a browser reads it
    builder.feed(html if "<html" in html else f"<html><body>{html}</body></html>")
    builder.close()
    for tag in reversed(builder.open):
        builder.faults.append(f"<{tag}> is not closed")
        builder.tree.end(tag)
    return builder.tree.close(), builder.faults
