/**
 * Keeps the whole page on the phone, so that it starts with no network. The service writes one line
 * before this file: `SET`, which says what the pack of all files holds.
 *
 * All or nothing: the pack is kept as one piece, and one that is other than its hash is not taken;
 * the old one stays. A newer pack waits until the page says that it may be taken.
 */

/**
 * @typedef {object} FileSet
 * @property {string} version
 * @property {string} pack where the pack is
 * @property {string} sha256 the hash of the pack
 * @property {Record<string, string>} types the content type by the end of a file's name
 * @property {Record<string, number>} files how long each file is [bytes], in the order in which they lie in the pack
 */

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
/** @type {FileSet} */
// @ts-expect-error -- the service writes this line's SET before the file
const set = SET;
const PREFIX = "baywalk-page-";
const NAME = PREFIX + set.version;
const paths = Object.keys(set.files);

/** Where the page itself lies. Its address answers the door to those who have no worker yet. */
const PAGE = "/index.html";

/** @type {Map<string, [from: number, to: number]>} where each file lies in the pack [bytes] */
const places = new Map();
for (let from = 0, at = 0; at < paths.length; from += set.files[paths[at]], at += 1)
  places.set(paths[at], [from, from + set.files[paths[at]]]);

/** @typedef {{bytes: ArrayBuffer, headers: Headers}} Pack */

/** @type {Promise<Pack | null> | null} the pack in memory, while this worker is awake */
let pack = null;

/** @param {ArrayBuffer} bytes @returns {Promise<string>} */
async function hashOf(bytes) {
  const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...sum].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function store() {
  const answer = await fetch(set.pack, { cache: "no-cache", redirect: "error", credentials: "same-origin" });
  if (!answer.ok) throw new Error(`The page did not come: ${answer.status}`);
  const bytes = await answer.arrayBuffer();
  if ((await hashOf(bytes)) !== set.sha256) throw new Error("What came is not of this set");
  const headers = new Headers(answer.headers);
  // The bytes are kept unpacked, whatever they were packed in on the way.
  for (const name of ["Content-Encoding", "Content-Length", "Transfer-Encoding"]) headers.delete(name);
  await (await caches.open(NAME)).put(set.pack, new Response(bytes, { headers }));
}

async function takeOver() {
  const names = await caches.keys();
  await Promise.all(
    names.filter((name) => name.startsWith(PREFIX) && name !== NAME).map((name) => caches.delete(name)),
  );
  await worker.clients.claim();
}

/** @returns {Promise<Pack | null>} */
async function read() {
  const kept = await (await caches.open(NAME)).match(set.pack);
  return kept ? { bytes: await kept.arrayBuffer(), headers: kept.headers } : null;
}

/** The header by which the page tries whether it starts with no network: nothing is fetched then. */
const WITHOUT = "Baywalk-Without-Network";

/** @param {Request} request @param {string} path */
async function answer(request, path) {
  // Tried from what is kept, not from what happens to be in memory.
  if (request.headers.has(WITHOUT)) pack = read();
  pack ??= read();
  const whole = await pack.catch(() => null);
  const [from, to] = places.get(path) ?? [0, 0];
  if (whole) {
    // The file gets the headers that its pack came with, the rules of safety among them.
    const headers = new Headers(whole.headers);
    headers.set("Content-Type", set.types[path.slice(path.lastIndexOf("."))]);
    return new Response(new Uint8Array(whole.bytes, from, to - from), { headers });
  }
  pack = null;
  return request.headers.has(WITHOUT) ? Response.error() : fetch(request);
}

async function state() {
  const kept = await (await caches.open(NAME)).match(set.pack);
  const sound = kept ? (await hashOf(await kept.arrayBuffer())) === set.sha256 : false;
  return { version: set.version, files: paths.length, kept: sound ? paths.length : 0, paths };
}

worker.addEventListener("install", (event) => event.waitUntil(store()));
worker.addEventListener("activate", (event) => event.waitUntil(takeOver()));

worker.addEventListener("fetch", (event) => {
  const { pathname: asked, origin } = new URL(event.request.url);
  const pathname = asked === "/" ? PAGE : asked;
  if (event.request.method !== "GET" || origin !== location.origin || !places.has(pathname)) return;
  event.respondWith(answer(event.request, pathname));
});

worker.addEventListener("message", (event) => {
  if (event.data?.type === "apply") void worker.skipWaiting();
  if (event.data?.type === "state") event.waitUntil(state().then((told) => event.ports[0]?.postMessage(told)));
});
