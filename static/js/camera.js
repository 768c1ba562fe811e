/**
 * Reads a QR code or a tag with the device's camera, inside the page and without a network.
 * The browser's own reader is used where there is one, and a decoder that this house serves.
 */
const EVERY_MS = 90;
const WIDEST = 800;
const SAME_AGAIN_MS = 2500;
const FORMATS = ["qr_code", "code_128", "code_39", "data_matrix"];

/** @type {MediaStream | null} */
let stream = null;

/** @returns {HTMLElement} */
function place() {
  return /** @type {HTMLElement} */ (document.querySelector("[data-camera-view]"));
}

export function stop() {
  for (const track of stream?.getTracks() ?? []) track.stop();
  stream = null;
  const view = place();
  view.hidden = true;
  view.replaceChildren();
}

/** Why there is no picture, in the page's words. @param {unknown} problem */
function reason(problem) {
  const words = place().dataset;
  if (!window.isSecureContext) return words.insecure;
  if (!navigator.mediaDevices?.getUserMedia) return words.unable;
  const name = problem instanceof DOMException ? problem.name : "";
  if (name === "NotAllowedError") return words.refused;
  if (name === "NotFoundError" || name === "OverconstrainedError") return words.none;
  return words.busy;
}

/** @typedef {(canvas: HTMLCanvasElement, ink: CanvasRenderingContext2D) => Promise<string>} Read */

/** Reads with the decoder that this house serves. @returns {Promise<Read>} */
async function ours() {
  const { default: decode } = await import("./vendor/qr/decode.js");
  return async (canvas, ink) => {
    try {
      return decode(ink.getImageData(0, 0, canvas.width, canvas.height));
    } catch {
      return ""; // no code in this picture
    }
  };
}

/**
 * A function from a picture to the text in it, or "". A browser's own reader comes first; ours
 * follows, because some see no light code on dark ground and some only say that they can read.
 * @returns {Promise<Read>}
 */
async function reader() {
  const plain = await ours();
  const Own = /** @type {any} */ (window).BarcodeDetector;
  const known = (await Own?.getSupportedFormats?.().catch(() => [])) ?? [];
  const formats = FORMATS.filter((name) => known.includes(name));
  if (!formats.length) return plain;
  let detector = new Own({ formats });
  return async (canvas, ink) => {
    const seen = await detector?.detect(canvas).catch(() => (detector = null));
    return seen?.[0]?.rawValue || plain(canvas, ink);
  };
}

/**
 * Opens the camera, or closes it. `found` takes each text and says whether to go on reading.
 * @param {(text: string) => boolean} found
 * @param {(text: string, kind: string) => void} say
 */
export async function toggle(found, say) {
  if (stream) {
    stop();
    return;
  }
  const view = place();
  try {
    stream = await navigator.mediaDevices.getUserMedia({
      video: { facingMode: "environment", width: { ideal: 1280 } },
    });
  } catch (problem) {
    say(reason(problem) ?? "", "stop");
    return;
  }
  const video = document.createElement("video");
  video.muted = true;
  video.playsInline = true;
  video.srcObject = stream;
  const shut = document.createElement("button");
  shut.type = "button";
  shut.className = "button button--quiet";
  shut.textContent = view.dataset.close ?? "";
  shut.addEventListener("click", stop);
  view.replaceChildren(video, shut);
  view.hidden = false;
  await video.play();
  await watch(video, await reader(), found);
}

/**
 * @param {HTMLVideoElement} video
 * @param {Read} read
 * @param {(text: string) => boolean} found
 */
async function watch(video, read, found) {
  const canvas = document.createElement("canvas");
  const ink = canvas.getContext("2d", { willReadFrequently: true });
  let last = "";
  let lastAt = 0;
  while (stream && ink && video.isConnected) {
    const scale = Math.min(1, WIDEST / (video.videoWidth || WIDEST));
    canvas.width = Math.round(video.videoWidth * scale);
    canvas.height = Math.round(video.videoHeight * scale);
    if (canvas.width && canvas.height) {
      ink.drawImage(video, 0, 0, canvas.width, canvas.height);
      const text = await read(canvas, ink);
      const again = text === last && performance.now() - lastAt < SAME_AGAIN_MS;
      if (text && !again) {
        last = text;
        lastAt = performance.now();
        if (!found(text)) {
          stop();
          return;
        }
      }
    }
    await new Promise((go) => setTimeout(go, EVERY_MS));
  }
}
