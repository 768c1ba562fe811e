// What the tests measure in an open page. Each function returns the places that fail, as lines.
window.measure = (() => {
  const name = (e) => {
    const said = (e.innerText || e.getAttribute("aria-label") || e.name || "").trim();
    const marks = [...e.classList].map((c) => "." + c).join("");
    return `<${e.localName}${e.id ? "#" + e.id : ""}${marks}> ${said.slice(0, 40).replace(/\s+/g, " ")}`;
  };
  const seen = (e) => {
    const box = e.getBoundingClientRect();
    return box.width > 1 && box.height > 1 && e.checkVisibility({ visibilityProperty: true });
  };
  const all = (what) => [...document.querySelectorAll(what)].filter(seen);

  function scroller(e) {
    for (let up = e.parentElement; up && up !== document.body; up = up.parentElement) {
      if (getComputedStyle(up).overflowX !== "visible") return up;
    }
    return null;
  }

  // what makes the page scroll sideways, if it does; what scrolls in a box of its own is fine
  function sideways() {
    const room = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth <= room) return [];
    const wide = [...document.body.querySelectorAll("*")].filter(
      (e) => seen(e) && e.getBoundingClientRect().right > room + 1 && !scroller(e),
    );
    const inner = wide.filter((e) => !wide.some((o) => o !== e && e.contains(o)));
    return [`${document.documentElement.scrollWidth} > ${room}`, ...inner.slice(0, 6).map(name)];
  }

  // text that is cut by its own box
  function cut() {
    return all("button, .button, label, legend, h1, h2, h3, th, td, dt, dd, p, summary, .stamp, .tag, input")
      .filter((e) => {
        const style = getComputedStyle(e);
        const hides = style.overflowX !== "visible" || style.overflowY !== "visible";
        return hides && style.clipPath === "none" && e.localName !== "input" &&
          (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 2);
      })
      .map(name);
  }

  const inSentence = (e) => {
    const block = e.closest("p, li, dd, td, th, small, cite, figcaption");
    if (!block || e.closest(".row, nav, .bar")) return false;
    return block.innerText.trim().length > e.innerText.trim().length + 3;
  };

  // the box that takes the tap: a label stands for its radio or tick box
  function target(e) {
    const labels = [...(e.labels || [])];
    const label = labels.find((l) => l.contains(e)) || labels[0];
    const own = e.getBoundingClientRect();
    if (!label || !["radio", "checkbox"].includes(e.type)) return own;
    const box = label.getBoundingClientRect();
    return box.height * box.width > own.height * own.width ? box : own;
  }

  function small(least) {
    const faults = [];
    for (const e of all("a[href], button, input:not([type=hidden]), select, textarea, summary")) {
      if (e.closest(".unseen, .skip") || (e.localName === "a" && inSentence(e))) continue;
      const box = target(e);
      if (box.height < least - 0.5 || box.width < least - 0.5) {
        faults.push(`${Math.round(box.width)}×${Math.round(box.height)} ${name(e)}`);
      }
    }
    return faults;
  }

  // where the main action stands on the first screen, from 0 (top) to 1 (foot); null: not there
  function mainAction() {
    const main = all("main .button:not(.button--quiet, .button--warn)")[0];
    if (!main) return null;
    const box = main.getBoundingClientRect();
    return { at: (box.top + box.bottom) / 2 / innerHeight, sticks: Boolean(main.closest(".bar")) };
  }

  // what has focus: is it drawn with a mark, and can all of its middle be seen?
  function focused() {
    const e = document.activeElement;
    if (!e || e === document.body || e.id === "main") return null;
    const marked = [e, ...(e.labels || []), e.parentElement].some((m) => {
      const style = getComputedStyle(m);
      return style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
    });
    const box = target(e);
    const x = Math.min(Math.max(box.left + box.width / 2, 1), innerWidth - 2);
    const covered = [0.25, 0.5, 0.75].every((part) => {
      // of what is taller than the screen, the part that is on it
      const tall = box.height > innerHeight;
      const from = tall ? Math.max(box.top, 0) : box.top;
      const y = from + ((tall ? Math.min(box.bottom, innerHeight) : box.bottom) - from) * part;
      const top = document.elementFromPoint(x, y);
      const mine = top && (e.contains(top) || top.contains(e) || [...(e.labels || [])].some((l) => l.contains(top)));
      return y < 0 || y > innerHeight || !mine;
    });
    return { name: name(e), marked, covered };
  }

  // goes to everything that takes focus, in order, and names where the focus can't be seen
  function walk() {
    const faults = [];
    for (const e of all("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']")) {
      e.focus();
      const here = focused();
      if (!here || document.activeElement !== e) continue;
      if (!here.marked) faults.push(`no mark on ${here.name}`);
      if (here.covered) faults.push(`covered: ${here.name}`);
    }
    scrollTo(0, 0);
    return faults;
  }

  const spacing = `* { line-height: 1.5 !important; letter-spacing: 0.12em !important;
    word-spacing: 0.16em !important; } p { margin-block-end: 2em !important; }`;

  const grounds = `* { background-image: none !important; } main { inline-size: 100% !important; }
    ::before, ::after, [type="radio"], [type="checkbox"] { display: none !important; }
    .bar, .scan, .as-ordered, th, td { position: static !important; }
    .new-points, .new-side { max-block-size: none !important; overflow: visible !important; }`;

  function lay(css) {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(css);
    document.adoptedStyleSheets = [sheet];
  }

  // the reader's own spacing of WCAG 1.4.12, laid over the page
  const spaced = (on) => lay(on ? spacing : "");
  // what sticks covers what is scrolled under it: whether focus is ever covered has its own test
  const loose = ".bar, .scan, .header--staff, .undo, .side { position: static !important; }";
  const unstuck = (on) => lay(on ? loose : "");
  const plain = (on) => lay(on ? grounds : "");

  // under forced colours axe reads a text's fill, which the browser leaves as it was; what is
  // painted is the text's colour
  const painted = () => {
    const all = [...document.body.querySelectorAll("*")];
    const colours = all.map((one) => getComputedStyle(one).color);
    all.forEach((one, n) => {
      if (one instanceof HTMLElement) one.style.webkitTextFillColor = colours[n] ?? "";
    });
  };

  return { painted, sideways, cut, small, mainAction, focused, walk, spaced, plain, unstuck };
})();
