/**
 * Keeps the whole page on the phone, so that it starts with no network. The service writes one line
 * before this file: `SET`, which says what the pack of all files holds.
 *
 * All or nothing: the pack is kept as one piece, and one that is other than its hash is not taken;
 * the old one stays. A newer pack waits until the page says that it may be taken.
 *
 * On the way its common words are one character each. It is kept written out.
 */

/**
 * @typedef {object} FileSet
 * @property {string} version
 * @property {string} pack where the pack is
 * @property {string} sha256 the hash of the pack written out
 * @property {Record<string, string>} types the content type by the end of a file's name
 * @property {[string, string, string][]} files the files in the order in which they lie in the pack: of those
 *   that follow each other in one folder its path, their names with a space between, and the end of each
 */

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
/** @type {FileSet} */
// @ts-expect-error -- the service writes this line's SET before the file
const set = SET;
const PREFIX = "baywalk-page-";
const NAME = PREFIX + set.version;
/** What stands in the pack between the words, then between the files. */
const BETWEEN = "\0";

/** Where the page itself lies. Its address answers the door to those who have no worker yet. */
const PAGE = "/index.html";

const paths = set.files.flatMap(([folder, names, end]) => names.split(" ").map((name) => folder + name + end));
/** @type {Map<string, number>} which one of the pack each file is */
const places = new Map(paths.map((path, at) => [path, at]));

/** @typedef {{files: string[], headers: Headers}} Pack */

/** @type {Promise<Pack | null> | null} the pack in memory, while this worker is awake */
let pack = null;

/** @param {string} text @returns {Promise<string>} */
async function hashOf(text) {
  const sum = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text));
  return [...new Uint8Array(sum)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Each character stands for the word at its own code, where there is one. @param {string} pack */
function writtenOut(pack) {
  const end = pack.indexOf(BETWEEN);
  const words = pack.slice(0, end).split(" ");
  return Array.from(pack.slice(end + 1), (char) => words[char.charCodeAt(0)] || char).join("");
}

async function store() {
  const answer = await fetch(set.pack, { cache: "no-cache", redirect: "error", credentials: "same-origin" });
  if (!answer.ok) throw new Error(`The page did not come: ${answer.status}`);
  const text = writtenOut(await answer.text());
  if ((await hashOf(text)) !== set.sha256) throw new Error("What came is not of this set");
  const headers = new Headers(answer.headers);
  // It is kept unpacked, whatever it was packed in on the way.
  for (const name of ["Content-Encoding", "Content-Length", "Transfer-Encoding"]) headers.delete(name);
  await (await caches.open(NAME)).put(set.pack, new Response(text, { headers }));
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
  return kept ? { files: (await kept.text()).split(BETWEEN), headers: kept.headers } : null;
}

/** The header by which the page tries whether it starts with no network: nothing is fetched then. */
const WITHOUT = "Baywalk-Without-Network";

/** @param {Request} request @param {string} path */
async function answer(request, path) {
  // Tried from what is kept, not from what happens to be in memory.
  if (request.headers.has(WITHOUT)) pack = read();
  pack ??= read();
  const whole = await pack.catch(() => null);
  if (whole) {
    // The file gets the headers that its pack came with, the rules of safety among them.
    const headers = new Headers(whole.headers);
    headers.set("Content-Type", set.types[path.slice(path.lastIndexOf("."))]);
    return new Response(whole.files[places.get(path) ?? 0], { headers });
  }
  pack = null;
  return request.headers.has(WITHOUT) ? Response.error() : fetch(request);
}

async function state() {
  const kept = await (await caches.open(NAME)).match(set.pack);
  const sound = kept ? (await hashOf(await kept.text())) === set.sha256 : false;
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
