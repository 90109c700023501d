/**
 * Photos: made smaller on the phone, named by the hash of their bytes.
 * @module book/photos
 */

/** @typedef {import("./types.js").Picture} Picture */

/** The longest side of a kept photo [px], and how finely it is kept [-]. */
const LONGEST = 1600;
const QUALITY = 0.85;

/** Room that is left for readings: a photo must not take it [bytes]. */
const MARGIN = 20_000_000;

/**
 * The SHA-256 of some bytes.
 * @param {ArrayBuffer} bytes
 * @returns {Promise<string>} in lower-case hexadecimal
 */
export async function sha256(bytes) {
  const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...sum].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * A photo fit to be kept. Everything is read and reckoned here, before any transaction begins.
 * @param {Blob} photo
 * @returns {Promise<Picture>}
 * @throws {Error} where it is empty or there is no room
 */
export async function toPicture(photo) {
  if (!photo.size) throw new Error("This photo is empty.");
  const small = await reduce(photo).catch(() => null);
  const kept = small?.blob ?? photo;
  await needRoom(kept.size);
  const bytes = await kept.arrayBuffer();
  return {
    sha256: await sha256(bytes),
    type: kept.type || "image/jpeg",
    bytes,
    width: small?.width,
    height: small?.height,
  };
}

/**
 * @param {Blob} photo
 * @returns {Promise<{blob: Blob, width: number, height: number} | null>} null where this browser cannot: the
 *   bytes as taken are kept then
 */
async function reduce(photo) {
  if (typeof OffscreenCanvas === "undefined") return null;
  const { width, height } = await sizeOf(photo);
  const scale = Math.min(1, LONGEST / Math.max(width, height));
  const [resizeWidth, resizeHeight] = [Math.max(1, Math.round(width * scale)), Math.max(1, Math.round(height * scale))];
  // The browser makes it smaller while decoding: a canvas of the full size comes out blank on some phones.
  const bitmap = await createImageBitmap(photo, { resizeWidth, resizeHeight, resizeQuality: "high" });
  const canvas = new OffscreenCanvas(resizeWidth, resizeHeight);
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen?.drawImage(bitmap, 0, 0);
  bitmap.close();
  if (!pen || isBlank(pen.getImageData(0, 0, resizeWidth, resizeHeight).data)) return null;
  const blob = await canvas.convertToBlob({ type: "image/jpeg", quality: QUALITY });
  return blob.size ? { blob, width: resizeWidth, height: resizeHeight } : null;
}

/** @param {Blob} photo */
async function sizeOf(photo) {
  const bitmap = await createImageBitmap(photo);
  const { width, height } = bitmap;
  bitmap.close();
  return { width, height };
}

/** @param {Uint8ClampedArray} data a picture that was drawn has pixels that are not clear as glass */
function isBlank(data) {
  for (let at = 3; at < data.length; at += 4) if (data[at]) return false;
  return true;
}

/** @param {number} size [bytes] */
async function needRoom(size) {
  const { quota, usage } = (await navigator.storage?.estimate?.()) ?? {};
  if (quota === undefined || usage === undefined || usage + size + MARGIN <= quota) return;
  throw new Error("There is no room for photos on this phone. Readings still fit. Make room, then take it again.");
}

/**
 * Bytes as text, for a file.
 * @param {ArrayBuffer} bytes
 * @returns {string} base64
 */
export function toBase64(bytes) {
  const array = new Uint8Array(bytes);
  let text = "";
  // In pieces: a call takes only so many arguments.
  for (let at = 0; at < array.length; at += 8192) text += String.fromCharCode(...array.subarray(at, at + 8192));
  return btoa(text);
}

/**
 * Bytes from a file's text.
 * @param {string} text base64
 * @returns {ArrayBuffer}
 * @throws {DOMException} where it is not base64
 */
export function fromBase64(text) {
  return Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0)).buffer;
}
