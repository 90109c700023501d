/**
 * Pairs this phone with the service: by the code that was scanned, or by one that is typed.
 * @module screens/pair
 */
import { ask, field } from "../form.js";
import { takeSecret } from "../pairing/fragment.js";
import { elsewhere, leave, pair, standing } from "../pairing/pairing.js";
import { button, el, fill, link, say, why } from "../ui.js";
import { count, moment } from "../words.js";

/** @typedef {import("../screens.js").Context} Context */

/**
 * The form: what the phone is called and, where nothing was scanned, the code.
 * @param {Context} context
 * @param {string | null} secret
 * @param {() => void} done
 */
function form({ book }, secret, done) {
  const name = field("What this phone is called", {
    hint: "The laptop lists it by this name.",
    value: "My phone",
    most: 60,
  });
  const code = field("The code on the laptop's screen", {
    hint: "Eight letters and digits. Small letters do as well.",
    most: 20,
  });
  const wrong = el("p", { class: "wrong", role: "alert", hidden: true });
  const send = async (/** @type {Event} */ event) => {
    event.preventDefault();
    name.wrong(name.text() ? "" : "Give it a name.");
    code.wrong(secret || code.text() ? "" : "Type the code.");
    if (!name.text() || !(secret || code.text())) return;
    try {
      await pair({ name: name.text(), ...(secret ? { secret } : { code: code.text() }) });
      say("Paired.");
      void book.sync.now();
      done();
    } catch (error) {
      wrong.hidden = false;
      wrong.textContent = why(error);
      // What was scanned is used up or too old by now; only a fresh code helps.
      secret = null;
      code.node.hidden = false;
    }
  };
  code.node.hidden = Boolean(secret);
  const go = el("p", null, el("button", { class: "first", type: "submit" }, "Pair this phone"));
  return el("form", { novalidate: true, onsubmit: send }, name.node, code.node, wrong, go);
}

/**
 * @param {Context} context
 * @param {import("../pairing/pairing.js").Device} device
 * @param {() => void} again
 */
function paired({ book }, device, again) {
  const end = async () => {
    const { entries, photos } = book.sync.state.toGo;
    const unsent = entries + photos ? `${count(entries + photos, "thing")} here did not go over yet. ` : "";
    const words = `${unsent}Everything stays on this phone. Nothing more goes over until it is paired again.`;
    if (!(await ask("End the pairing?", [el("p", null, words)], "End it"))) return;
    await leave().catch((error) => say(why(error)));
    again();
  };
  return [
    el("p", null, `This phone is paired as “${device.name}”.`),
    el("p", null, `It is asked to pair again after ${moment(device.ends)}, if it stays away until then.`),
    el("p", null, link("Is this phone ready for the loft?", "#/ready", { class: "button first" })),
    el(
      "p",
      null,
      button("End the pairing", () => void end(), { class: "slight" }),
    ),
  ];
}

/** @param {import("../pairing/pairing.js").Standing} now */
function keepTo(now) {
  if (!elsewhere(now)) return null;
  const words =
    "This address may change, and what is stored under it does not move by itself. Keep to the one below. What is here already: send it, or download it as a file with photos and import that there.";
  return el("section", null, el("p", { class: "quiet" }, words), el("p", { class: "figure breaks" }, now.main));
}

/** What there is to do at the laptop itself. */
const own = () => [
  el("p", null, "This is the laptop's own page. It needs no pairing."),
  el("p", null, link("Let a phone in", "#/phones", { class: "button first" })),
];

/** What is said where pairing has ended, by the service's own code for it. @type {Record<string, string>} */
const ENDED = {
  "put-out": "This phone was put out at the laptop.",
  "session-ended": "The pairing of this phone has run out.",
};

/**
 * Shows how it stands, and pairs.
 * @type {import("../screens.js").Mount}
 */
export function mount(host, context) {
  const secret = takeSecret();
  const body = el("div");
  const show = async (/** @type {string | null} */ scanned) => {
    const now = await standing().catch((error) => error);
    if (now instanceof Error) {
      fill(
        body,
        el("p", { class: "wrong", role: "alert" }, why(now)),
        form(context, scanned, () => void show(null)),
      );
    } else if (!now.needed) fill(body, ...own());
    else if (now.device) fill(body, ...paired(context, now.device, () => void show(null)), keepTo(now));
    else {
      const ended = ENDED[now.why ?? ""];
      fill(
        body,
        ended && el("p", { role: "status" }, `${ended} Every reading that is here stays here.`),
        form(context, scanned, () => void show(null)),
        keepTo(now),
      );
    }
  };
  fill(
    host,
    el("h1", null, "Pair this phone"),
    el("p", { class: "quiet" }, "Pair inside the page that you use in the loft. A page on the home screen is its own."),
    body,
  );
  void show(secret);
  return { title: "Pair this phone" };
}
