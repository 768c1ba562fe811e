"""A page that is open in the browser, and what can be asked of it."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from tests.browser.layout.pages import Shown

TOOLS = Path(__file__).resolve().parents[2] / "node_modules"
AXE = TOOLS / "axe-core" / "axe.min.js"
# every rule of WCAG 2.2 A and AA, and axe's own good practice; target-size is off unless asked for
ALL_RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "rules": {"target-size": {"enabled": True}},
    "resultTypes": ["violations"],
}
COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
HELPERS = (Path(__file__).parent / "measure.js").read_text(encoding="utf-8")


def _lines(faults: list[dict[str, Any]]) -> list[str]:
    return [
        f"{fault['id']}: {node['target']} {node['failureSummary']}"
        for fault in faults
        for node in fault["nodes"]
    ]


@dataclass
class Judge:
    """Asks axe, and measures."""

    page: Page
    shown: Shown
    path: str
    ready: bool = field(default=False)

    def open(self) -> None:
        """Load the page afresh, with nothing emulated and the helpers at hand."""
        self.page.emulate_media(color_scheme="light", forced_colors="none", reduced_motion="reduce")
        self.page.set_viewport_size({"width": 390, "height": 844})
        self.page.goto(self.path, wait_until="load")
        # evaluated by the debugger, so the page's own policy stays in force
        self.page.evaluate(HELPERS)

    def axe(self, options: dict[str, Any]) -> list[str]:
        """Return what axe finds, one line a place."""
        return _lines(self._run(options)["violations"])

    def colours(self, **media: Any) -> list[str]:
        """Return what axe finds too weak, and where it can't tell, on the plain grounds.

        A ground with a picture on it (the perforation of a ticket) is one of which axe can't
        tell the colour, so pictures are taken off while it looks.
        """
        self.page.emulate_media(**media)
        self.measure("plain", True)
        found = self._run(COLOURS)
        self.measure("plain", False)
        self.page.emulate_media(color_scheme="light", forced_colors="none")
        return _lines(found["violations"]) + _lines(found["incomplete"])

    def _run(self, options: dict[str, Any]) -> dict[str, Any]:
        if not self.page.evaluate("() => Boolean(window.axe)"):
            self.page.evaluate(AXE.read_text(encoding="utf-8"))
        return self.page.evaluate("options => axe.run(document, options)", options)

    def measure(self, what: str, *told: Any) -> Any:
        """Call one of the functions of measure.js."""
        return self.page.evaluate(f"told => measure.{what}(...told)", list(told))

    def width(self, px: int, height: int = 844) -> None:
        self.page.set_viewport_size({"width": px, "height": height})
