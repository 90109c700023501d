/**
 * Whether this phone can be taken into a loft with no network: each thing looked at, not assumed.
 * @module ready/ready
 */
import { standing } from "../pairing/pairing.js";
import { workerState } from "../sync/update.js";

/**
 * One thing that was looked at.
 * @typedef {object} Test
 * @property {string} name
 * @property {boolean | null} ok null where this browser does not tell
 * @property {string} say what was seen
 * @property {string} remedy what to do where it is not so; "" where nothing is to do
 */

/** @typedef {import("../book/book.js").Book} Book */

/** What readings need, and what a loft's photos need besides [bytes]. */
const LEAST = 5_000_000;
const ENOUGH = 100_000_000;

/** How far the phone's clock may be off before it is said [ms]. */
const SKEW = 120_000;

/**
 * @param {string} name
 * @param {boolean | null} ok
 * @param {string} say
 * @param {string} [remedy]
 * @returns {Test}
 */
const test = (name, ok, say, remedy = "") => ({ name, ok, say, remedy: ok === true ? "" : remedy });

/** @returns {Promise<Test>} */
async function stored() {
  const name = "Page stored";
  if (!navigator.serviceWorker)
    return test(
      name,
      false,
      "This browser cannot store the page.",
      "Open the page over HTTPS or on this machine itself, outside private browsing.",
    );
  const state = await workerState();
  if (!state)
    return test(
      name,
      false,
      "The page is not stored on this phone yet.",
      "Stay in reach of the service and look again in a moment.",
    );
  const missing = state.files - state.kept;
  if (missing)
    return test(
      name,
      false,
      `${missing} of ${state.files} parts of the page are not on this phone.`,
      "Stay in reach of the service and load the page again.",
    );
  return test(name, true, `All ${state.files} parts of the page are on this phone.`);
}

/** @returns {Promise<Test>} */
async function controlled() {
  const own = Boolean(navigator.serviceWorker?.controller);
  return test(
    "Page runs from this phone",
    own,
    own ? "It starts with no network." : "This page still came over the network.",
    "Load the page once more.",
  );
}

/** The header by which the worker is told that the network is not there. */
const WITHOUT = { headers: { "Baywalk-Without-Network": "1" } };

/** @returns {Promise<Test>} */
async function starts() {
  const name = "Starts with no network";
  const remedy = "Stay in reach of the service, load the page once more, and look again.";
  const state = navigator.serviceWorker?.controller ? await workerState() : null;
  if (!state) return test(name, false, "It could not be tried: the page is not run from this phone yet.", remedy);
  const began = performance.now();
  const outcome = await Promise.all(
    ["/", ...(state.paths ?? [])].map((path) =>
      fetch(path, WITHOUT).then(
        async (answer) => answer.ok && (await answer.arrayBuffer()).byteLength > 0,
        () => false,
      ),
    ),
  );
  const missing = outcome.filter((ok) => !ok).length;
  if (missing) return test(name, false, `Tried with the network shut: ${missing} parts did not come.`, remedy);
  const took = Math.round(performance.now() - began);
  return test(name, true, `Tried with the network shut: all ${outcome.length} parts came, in ${took} ms.`);
}

/** @returns {Promise<Test>} */
async function newest() {
  const name = "Version";
  const [state, there] = await Promise.all([workerState(), fetchedVersion()]);
  if (!there)
    return test(
      name,
      null,
      "The service was not reached, so the version could not be compared.",
      "Look again when it is in reach.",
    );
  const same = state?.version === there;
  const say = same ? "This phone has the service's own version of the page." : "The service has another version.";
  return test(name, same, say, "Touch “Take it now” when it is offered, or load the page again.");
}

/** @returns {Promise<string | null>} */
async function fetchedVersion() {
  const text = await fetch("/sw.js", { cache: "no-store" }).then(
    (answer) => (answer.ok ? answer.text() : ""),
    () => "",
  );
  return /SET = \{"version":"([0-9a-f]+)"/.exec(text)?.[1] ?? null;
}

/** @returns {Promise<Test>} */
async function paired() {
  const name = "Paired with the laptop";
  const now = await standing().catch(() => null);
  if (!now) return test(name, null, "The service was not reached.", "Readings stay here until it is.");
  if (!now.needed) return test(name, true, "This page is the laptop's own. It needs no pairing.");
  const say = now.device ? `As “${now.device.name}”.` : "The service does not let this phone in.";
  return test(name, Boolean(now.device), say, "Pair it now, under Settings. Readings stay here until it is.");
}

/** What a tab's storage is worth on some phones. */
const TAB = "In a tab, some phones empty it after seven days without use; on the home screen they do not.";

/** @returns {Promise<Test>} */
async function kept() {
  const name = "Storage kept";
  const storage = navigator.storage;
  if (!storage?.persist)
    return test(
      name,
      null,
      `This browser does not say whether it may clear what is stored. ${TAB}`,
      "Put the page on the home screen, and send the readings the same day.",
    );
  const ok = (await storage.persisted()) || (await storage.persist());
  return test(
    name,
    ok,
    ok ? "The browser promises not to clear it." : `The browser may clear it when space is short. ${TAB}`,
    "Put the page on the home screen, or bookmark it, then look again. Send the readings the same day.",
  );
}

/** @returns {Promise<Test>} */
async function space() {
  const { quota, usage } = (await navigator.storage?.estimate?.()) ?? {};
  if (quota === undefined || usage === undefined)
    return test(
      "Space",
      null,
      "This browser does not say how much room there is.",
      "See in the phone's settings that there is room for photos.",
    );
  const free = quota - usage;
  const room = `${Math.floor(free / 1_000_000)} MB are free for readings and photos.`;
  if (free < LEAST) return test("Space", false, room, "Delete something on the phone, then look again.");
  return test("Space", free >= ENOUGH ? true : null, room, "Readings fit. For many photos, make room first.");
}

/** @returns {Promise<Test>} */
async function camera() {
  const name = "Camera";
  const devices = await navigator.mediaDevices?.enumerateDevices?.().catch(() => null);
  if (!devices)
    return test(name, null, "This browser does not say whether there is a camera.", "Take one photo now and see.");
  const found = devices.some(({ kind }) => kind === "videoinput");
  return test(
    name,
    found || null,
    found ? "There is a camera." : "No camera was found.",
    "Take one photo now and see. Without photos the survey still works.",
  );
}

/** @param {Book} book @returns {Promise<Test>} */
async function clock({ sync: { service } }) {
  await service.surveys().catch(() => null);
  const { skew } = service;
  if (skew === null)
    return test(
      "Clock",
      null,
      "The service was not reached, so the clock could not be compared.",
      "It does no harm: readings are not ordered by the clock.",
    );
  const off = Math.round(Math.abs(skew) / 60_000);
  const well = Math.abs(skew) <= SKEW;
  return test(
    "Clock",
    well,
    well ? "The phone's clock agrees with the service's." : `The phone's clock is ${off} minutes off.`,
    "Set the phone's clock. Readings are right all the same; their times would mislead.",
  );
}

/** @param {Book} book @returns {Promise<Test>} */
async function writable(book) {
  const name = "Readings can be stored";
  try {
    const token = crypto.randomUUID();
    await book.keep("ready", token);
    if ((await book.kept("ready")) === token && !book.failing.size)
      return test(name, true, "One was written and read back.");
    return test(
      name,
      false,
      "Something that was entered is not stored yet.",
      "Keep this page open. It tries again by itself.",
    );
  } catch (error) {
    return test(
      name,
      false,
      `Writing failed: ${error instanceof Error ? error.message : error}`,
      "Make room on the phone, close other tabs of this page, then look again.",
    );
  }
}

/**
 * Looks at everything that must be so before the network goes.
 * @param {Book} book
 * @returns {Promise<Test[]>} always all of them
 */
export function readyTests(book) {
  const looked = [stored(), starts(), newest(), controlled(), paired()];
  return Promise.all([...looked, writable(book), kept(), space(), camera(), clock(book)]);
}
