/** Film readings by spot, as portal/orders/production/readings.py reads them. */

/** @param {string} line */
export function pieces(line) {
  const found = line.split(/[\s;]+/).filter(Boolean);
  const listed = found.length === 1 && found[0].split(",").length > 2;
  return listed ? found[0].split(",").filter(Boolean) : found;
}

/**
 * The readings by spot: a line is one, and single readings in a row make one each three.
 * @param {string} text @param {number} each
 */
export function spotsOf(text, each) {
  const used = text.split("\n").map(pieces).filter((line) => line.length);
  if (used.length > 1 && used.some((line) => line.length > 1)) return used;
  const row = used.flat();
  const found = [];
  for (let n = 0; n < row.length; n += each) found.push(row.slice(n, n + each));
  return found;
}

/** The mean as it is compared: in tenths, half up. @param {string[]} spot */
export function mean(spot) {
  const tenths = spot.map((one) => Math.round(Number(one.replace(/[^\d.,]/g, "").replace(",", ".")) * 10));
  const sum = tenths.reduce((all, one) => all + one, 0);
  return Math.floor((2 * sum + spot.length) / (2 * spot.length)) / 10;
}

/** Takes a number that a gauge has typed out of a field that is not for it. @param {HTMLInputElement} input @param {string} typed */
export function takeOut(input, typed) {
  const end = input.selectionStart ?? input.value.length;
  const begin = end - typed.length;
  if (input.value.slice(begin, end) === typed) {
    input.value = input.value.slice(0, begin) + input.value.slice(end);
  }
}
