/**
 * What a scan looks like, told by the page itself: for a device without a network, and for what
 * stays on the page. The server's own reading is portal/shop/scans.py; one table of cases
 * (tests/shop/scan_cases.py) holds both to the same answers.
 */
const ALPHABET = /^[234679ACDEFHJKMNPRTVWXY]+$/;
/** @type {Record<string, string>} */
const TWINS = { Z: "2", G: "6", U: "V" };
const THICKEST_UM = 2000;
const LABEL = /^at.([a-z]+)$/i;
const PLACE = /^shelf.([a-x]{0,2}\d{1,3})$/i;
const BAG = /^(.*[0-9a-z])[^0-9a-z]b0?([1-9]\d?)$/i;

/** @param {string} from @param {string} to @returns {(text: string) => string} */
function layout(from, to) {
  const keys = new Map([...from].map((key, n) => [key, to[n]]));
  return (text) => [...text].map((ch) => keys.get(ch) ?? ch).join("");
}

const FRENCH = ["AQZWaqzw&é\"'(-è_çà?)", "QAWZqawz1234567890M-"];
const asTyped = (/** @type {string} */ text) => text;
const qwertz = layout("YZyz", "ZYzy");
const azerty = layout(FRENCH[0], FRENCH[1]);
const azertyPoint = layout(`${FRENCH[0]}:`, `${FRENCH[1]}.`);
const LAYOUTS = [asTyped, qwertz, azerty];

/** @param {string} typed */
function plain(typed) {
  return typed.normalize("NFKC").trim().replace(/\s+/g, " ");
}

/** The number of a durable tag, or "". @param {string} typed */
export function tag(typed) {
  const text = plain(typed);
  for (const one of [text, azerty(text)]) {
    const found = /^[t#]?[^0-9a-z]?0*(\d{1,5})$/i.exec(one);
    if (found) return found[1];
  }
  return "";
}

/** Which part a paper tag names; a code that fails its check is the server's to refuse. @param {string} typed */
export function paper(typed) {
  const text = plain(typed);
  const read = LAYOUTS.map((keys) => codeAndPart(keys(text)));
  const best = read.find((one) => one && good(one.code)) ?? read[0];
  return best && mayBeCode(best.code) ? best : null;
}

/** Whether this is a part's tag, durable or of paper. @param {string} typed */
export function namesAPart(typed) {
  return tag(typed) !== "" || paper(typed) !== null;
}

/** The name on a station's label, or "". @param {string} typed */
export function station(typed) {
  const form = /** @type {HTMLElement | null} */ (document.querySelector("form[data-scan]"));
  const names = form?.dataset.stations?.split(" ") ?? [];
  const found = LAYOUTS.map((keys) => LABEL.exec(keys(plain(typed)))?.[1].toLowerCase() ?? "");
  return found.find((name) => names.includes(name)) ?? "";
}

/** The place on a shelf's label, or "". @param {string} typed */
export function shelf(typed) {
  const found = LAYOUTS.map((keys) => PLACE.exec(keys(plain(typed)))?.[1].toUpperCase() ?? "");
  return found.find(Boolean) ?? "";
}

/** The code and the label of a hardware bag, or null. @param {string} typed */
export function bag(typed) {
  for (const keys of LAYOUTS) {
    const found = BAG.exec(keys(plain(typed)));
    if (found && good(bare(found[1]))) return { code: bare(found[1]), bag: `B${found[2]}` };
  }
  return null;
}

/** Whether this is a job's code or a slip's link, and nothing more. @param {string} typed */
export function namesAJob(typed) {
  const text = plain(typed);
  const link = /[^0-9a-z]j[^0-9a-z]{1,3}\S{26}$/i.test(text);
  return link || LAYOUTS.some((keys) => bare(keys(text)).length === 8 && good(bare(keys(text))));
}

/** Whether this is all of a slip's, a tag's or a station's code, and no words. @param {string} typed */
export function whole(typed) {
  if (namesAJob(typed) || namesAPart(typed) || bag(typed)) return true;
  return station(typed) !== "" || shelf(typed) !== "";
}

/**
 * Whether its beginning may be missing without anybody seeing it: a number, or a code that fails
 * its check. A station or a name stands for itself. @param {string} typed
 */
export function mayBeCut(typed) {
  if (tag(typed)) return true;
  return /\d/.test(typed) && !whole(typed);
}

/** A film reading in µm as a gauge types it, or "". @param {string} typed */
export function reading(typed) {
  const text = plain(typed);
  const one = /\d/.test(text) ? text : azertyPoint(text);
  const found = /^((?:0|[1-9]\d{0,3})(?:[.,]\d{1,3})?) ?(?:[µμu]m)?$/i.exec(one);
  const value = Number(found?.[1].replace(",", ".") ?? 0);
  return found && value > 0 && value <= THICKEST_UM ? found[1] : "";
}

/** @param {string} text */
function codeAndPart(text) {
  const parted = /^(.*[0-9a-z])[^0-9a-z](\d{1,2})$/i.exec(text);
  if (parted && bare(parted[1]).length === 8) {
    return { code: bare(parted[1]), part: Number(parted[2]) };
  }
  const whole = /^([0-9a-z]{8})(\d{2})$/i.exec(text);
  if (whole && good(bare(whole[1]))) return { code: bare(whole[1]), part: Number(whole[2]) };
  return null;
}

/** @param {string} text */
function bare(text) {
  const kept = text.replace(/[^0-9a-z]/gi, "").toUpperCase();
  return kept.replace(/[ZGU]/g, (ch) => TWINS[ch]);
}

/** Whether the check character fits: ISO/IEC 7064, MOD 37,36. @param {string} code */
function good(code) {
  let sum = 18;
  for (const ch of code) sum = ((((sum || 36) * 2) % 37) + Number.parseInt(ch, 36)) % 36;
  return sum === 1 && ALPHABET.test(code);
}

/** A code has letters and digits. @param {string} code */
function mayBeCode(code) {
  return good(code) || !/^(\d+|[A-Z]+)$/.test(code);
}
