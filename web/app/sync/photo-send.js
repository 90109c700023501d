/**
 * Sending photos. A photo that was cut off goes on from where the service has it; one that is refused
 * stays on the phone and holds nothing up.
 * @module sync/photo-send
 */
import { Refusal } from "./service.js";

/** @typedef {import("./outbox.js").Outbox} Outbox */
/** @typedef {import("./service.js").Service} Service */

/** The statuses that lie with the photo itself. */
const ITS_OWN = new Set([400, 413, 415, 422]);

/** The service has other bytes of it than we thought. */
const ELSEWHERE = 409;

/**
 * @param {Service} service
 * @param {string} sha256
 * @param {{bytes: ArrayBuffer, type: string}} photo
 * @param {boolean} [again] this is the second try
 */
async function send(service, sha256, photo, again) {
  const size = photo.bytes.byteLength;
  const from = await service.photoOffset(sha256, size);
  if (from >= size) return;
  try {
    await service.putPhoto(sha256, photo, from);
  } catch (error) {
    // Another phone, or the browser by itself, may have sent more of it meanwhile.
    if (again || !(error instanceof Refusal) || error.status !== ELSEWHERE) throw error;
    await send(service, sha256, photo, true);
  }
}

/**
 * Sends every photo that is to go.
 * @param {Service} service
 * @param {Outbox} outbox
 * @param {() => void} got called after each
 * @returns {Promise<void>}
 * @throws {import("./service.js").NoAnswer | Refusal} the rest stays to go
 */
export async function sendPhotos(service, outbox, got) {
  for (const sha256 of await outbox.photosToGo()) {
    const photo = await outbox.photo(sha256);
    if (!photo) continue;
    try {
      await send(service, sha256, photo);
      await outbox.photoDone(sha256);
    } catch (error) {
      if (!(error instanceof Refusal) || !ITS_OWN.has(error.status)) throw error;
      await outbox.photoDone(sha256, error.message);
    }
    got();
  }
}
