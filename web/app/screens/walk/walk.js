/**
 * The walk: one bay at a time, one dimension asked for, everything under one thumb.
 * @module screens/walk/walk
 */
import { held } from "../../book/lifeboat.js";
import { runOf } from "../../closure/faces.js";
import { loadPack } from "../../closure/pack.js";
import { listenToKeys } from "../../parts/hardware.js";
import { el, fill } from "../../ui.js";
import { stayAwake } from "./awake.js";
import { openBay } from "./bay.js";
import { Walk } from "./controller.js";
import { kept } from "./kept.js";

/** @typedef {import("../../book/book.js").Book} Book */
/** @typedef {import("../../book/survey.js").Survey} Survey */

const NO_LINE = "This run has no tape line to walk along. Add one to it first.";

/**
 * @param {(file: File) => void} taken
 * @returns {HTMLInputElement} a file field that opens the phone's camera
 */
function cameraField(taken) {
  const field = el("input", {
    type: "file",
    accept: "image/*",
    capture: "environment",
    hidden: true,
    "aria-label": "Photo",
  });
  field.addEventListener("change", () => {
    const [file] = field.files ?? [];
    if (file) taken(file);
    field.value = "";
  });
  return field;
}

/**
 * Everything the walk listens to beside its own keys.
 * @param {Walk} walk
 * @returns {() => void} stops listening
 */
function listen(walk) {
  const changed = () => queueMicrotask(() => walk.showChanged());
  const failed = () => walk.showFailed();
  const keys = { save: () => walk.save(), escape: () => walk.escape(), ready: () => !walk.sheet };
  const stops = [
    listenToKeys(walk.typed, keys),
    stayAwake((awake) => walk.view.showAwake(awake)),
    walk.view.onResize(() => walk.show()),
  ];
  walk.survey.addEventListener("change", changed);
  walk.survey.addEventListener("failed", failed);
  return () => {
    stops.forEach((stop) => stop());
    walk.watch.close();
    walk.survey.removeEventListener("change", changed);
    walk.survey.removeEventListener("failed", failed);
  };
}

/** @param {Walk} walk types again what was half typed for the same when the page died */
function resume({ state, typed }) {
  const [text, before] = held("typed") ?? [];
  if (before === state.asked) typed.char(text);
}

/**
 * Mounts the walk of one run.
 * @param {HTMLElement} host
 * @param {{book: Book, survey: Survey, run: string, bay?: string, go: (hash: string) => void}} context
 *   `bay` where the address names one: the walk then opens there
 * @returns {Promise<{unmount: () => void}>}
 * @throws {Error} where the survey has no such run, or the run no tape line
 */
export async function mountWalk(host, context) {
  if (!runOf(context.survey, context.run).lines.length) throw new Error(NO_LINE);
  const [pack, how] = await Promise.all([loadPack(), kept(context.book, context.survey.id, context.run)]);
  const camera = cameraField((file) => void walk.takePhoto(file));
  const walk = new Walk(context, pack, how, camera);
  fill(
    host,
    el(
      "section",
      { class: "walk", "aria-label": `Walk of run ${context.run}` },
      walk.view.node,
      walk.hands.node,
      camera,
    ),
  );
  const unlisten = listen(walk);
  if (context.bay === undefined) walk.show();
  else openBay(walk, Number(context.bay));
  resume(walk);
  return { unmount: unlisten };
}
