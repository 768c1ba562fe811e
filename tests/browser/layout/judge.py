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
    # colours are judged on their own, in light and in dark
    "rules": {"target-size": {"enabled": True}, "color-contrast": {"enabled": False}},
    "resultTypes": ["violations"],
    # the one of these rules that waits for more than the page asks for sound and films; axe would
    # copy every style sheet besides, for a rule that is no part of them (css-orientation-lock)
    "preload": {"assets": ["media"]},
}
COLOURS = {
    "runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]},
    "resultTypes": ["violations", "incomplete"],
}
# one sign alone (the × of a button) is no text to axe; all else that it can't tell is a fault
NO_TEXT = {"shortTextContent", "nonBmp"}
# only what counts is carried over: all that passed is a megabyte for some pages
RUN = """async ([without, options]) => {
    const { violations, incomplete } = await axe.run({ exclude: [without] }, options);
    return { violations, incomplete };
}"""
HELPERS = (Path(__file__).parent / "measure.js").read_text(encoding="utf-8")


def _lines(faults: list[dict[str, Any]]) -> list[str]:
    return [
        f"{fault['id']}: {node['target']} {node['failureSummary']}"
        for fault in faults
        for node in fault["nodes"]
        if not any((check["data"] or {}).get("messageKey") in NO_TEXT for check in node["any"])
    ]


@dataclass
class Judge:
    """Asks axe, and measures."""

    page: Page
    shown: Shown
    path: str
    emulated: dict[str, Any] = field(default_factory=dict)
    size: tuple[int, int] = (0, 0)

    def open(self) -> None:
        """Load the page afresh, with nothing emulated and the helpers at hand."""
        self.as_phone()
        self.page.goto(self.path, wait_until="load")
        # evaluated by the debugger, so the page's own policy stays in force
        self.page.evaluate(HELPERS)

    def axe(self, options: dict[str, Any]) -> list[str]:
        """Return what axe finds, one line a place; what sticks lies where it belongs meanwhile."""
        self.measure("unstuck", True)
        found = self._run(options)
        self.measure("unstuck", False)
        return _lines(found["violations"])

    def colours(self, scheme: str) -> list[str]:
        """Return what axe finds too weak, and where it can't tell, on the plain grounds.

        A ground with a picture on it (the perforation of a ticket) is one of which axe can't
        tell the colour, so pictures and what sticks are taken off while it looks.
        """
        self._emulate(color_scheme=scheme)
        self.width(2000)  # wide enough for the widest sheet of the office
        self.measure("plain", True)
        found = self._run(COLOURS, "svg")
        self.measure("plain", False)
        return _lines(found["violations"]) + _lines(found["incomplete"])

    def forced(self) -> list[str]:
        """Return what axe finds where the reader's own colours replace ours; the page is spoilt."""
        self._emulate(forced_colors="active")
        self.width(2000)
        self.measure("plain", True)
        self.measure("painted")
        found = self._run(COLOURS, "svg")
        self.measure("plain", False)
        return _lines(found["violations"]) + _lines(found["incomplete"])

    def as_phone(self, width: int = 390, height: int = 844) -> None:
        """Show the page in daylight, as a phone does unless told otherwise."""
        self._emulate()
        self.width(width, height)

    def _emulate(self, **more: Any) -> None:
        wanted = {"color_scheme": "light", "forced_colors": "none", "reduced_motion": "reduce"}
        wanted |= more
        if wanted != self.emulated:
            self.page.emulate_media(**wanted)
            self.emulated = wanted

    def _run(self, options: dict[str, Any], without: str = "#nothing") -> dict[str, Any]:
        if not self.page.evaluate("() => Boolean(window.axe)"):
            self.page.evaluate(AXE.read_text(encoding="utf-8"))
        return self.page.evaluate(RUN, [without, options])

    def measure(self, what: str, *told: Any) -> Any:
        """Call one of the functions of measure.js."""
        return self.page.evaluate(f"told => measure.{what}(...told)", list(told))

    def width(self, px: int, height: int = 844) -> None:
        """Make the window so wide; a change lays the page out anew and is not made for nothing."""
        if (px, height) != self.size:
            self.page.set_viewport_size({"width": px, "height": height})
            self.size = (px, height)
