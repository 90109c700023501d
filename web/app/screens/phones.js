/**
 * On the laptop: the code that lets a phone in, the phones that were, and the way to put one out.
 * @module screens/phones
 */
import { ask } from "../form.js";
import { offer, phones, putOut } from "../pairing/pairing.js";
import { button, el, facts, fill, say, svg, why } from "../ui.js";
import { ago, moment } from "../words.js";

/** @typedef {import("../screens.js").Context} Context */
/** @typedef {import("../pairing/pairing.js").Device} Device */
/** @typedef {import("../pairing/pairing.js").Offer} Offer */
/** @typedef {import("../pairing/pairing.js").Phones} Phones */

/** The pale margin that a reader needs around a code, and a module's size [px]. */
const MARGIN = 4;
const MODULE = 8;

/**
 * A QR code, dark on pale in either theme, for a reader needs it so.
 * @param {string[]} rows 1 for dark
 * @param {string} words what it is, for those who do not see it
 */
function qr(rows, words) {
  const side = rows.length + 2 * MARGIN;
  const dark = rows.flatMap((row, y) =>
    [...row].map((bit, x) => (bit === "1" ? `M${x + MARGIN} ${y + MARGIN}h1v1h-1z` : "")),
  );
  return svg(
    "svg",
    {
      class: "qr",
      viewBox: `0 0 ${side} ${side}`,
      width: side * MODULE,
      role: "img",
      "aria-label": words,
      "shape-rendering": "crispEdges",
    },
    svg("path", { d: `M0 0h${side}v${side}h-${side}z`, class: "pale" }),
    svg("path", { d: dark.join(""), class: "dark" }),
  );
}

/** @param {Offer} made */
function shown(made) {
  const [first, ...others] = made.ways;
  const code = `${made.code.slice(0, 4)}-${made.code.slice(4)}`;
  const place = (/** @type {string} */ url) => url.slice(0, url.indexOf("#"));
  return el(
    "section",
    { class: "offer" },
    el("p", null, "Scan this with the phone. It is good once, for five minutes."),
    qr(first.rows, "The code to scan"),
    el("p", null, "Or open ", el("span", { class: "figure" }, place(first.url)), " on the phone and type:"),
    el("p", { class: "figure code" }, code),
    ...others.map((way) =>
      el(
        "details",
        null,
        el("summary", null, `If the phone does not find it: ${place(way.url)}`),
        qr(way.rows, "The code to scan, with the other address"),
      ),
    ),
    el("p", { class: "quiet" }, `Until ${moment(made.ends)}.`),
  );
}

/** @param {Device} one @param {Map<string, string>} titles @param {() => void} again */
function phone(one, titles, again) {
  const out = async () => {
    const words = "It gets no more surveys, and sends nothing more. What is stored on it stays there.";
    if (!(await ask(`Put “${one.name}” out?`, [el("p", null, words)], "Put it out"))) return;
    await putOut(one.id).catch((error) => say(why(error)));
    again();
  };
  const sees = one.survey ? `sees ${titles.get(one.survey) ?? "one survey"}` : "sees every survey";
  return el(
    "li",
    { class: "survey" },
    el("strong", null, one.name),
    el("span", { class: "quiet" }, `${sees}, last seen ${ago(one.seen)}.`),
    button("Put it out", () => void out(), { "aria-label": `Put ${one.name} out` }),
  );
}

/**
 * What a phone may see: a list to choose from.
 * @param {Map<string, string>} titles
 */
function choices(titles) {
  const options = [...titles].map(([id, title]) => el("option", { value: id }, title || "Without a name"));
  const select = el("select", { id: "sees" }, el("option", { value: "" }, "Every survey"), ...options);
  const node = el("div", { class: "field" }, el("label", { for: "sees" }, "What the phone may see"), select);
  return { node, chosen: () => select.value || null };
}

/** @param {Phones} told */
function trust(told) {
  if (!told.handout || !told.fingerprint) return null;
  // Compared pair by pair, so no pair is parted at a line's end.
  const pairs = told.fingerprint.split(/(?<=:)/).flatMap((pair) => [pair, el("wbr")]);
  return el(
    "section",
    null,
    el("h2", null, "First, once per phone"),
    el("p", null, "The phone must trust this laptop. Open this address on the phone; it shows the steps:"),
    facts([
      ["On the phone", el("span", { class: "figure breaks" }, told.handout)],
      ["Fingerprint (SHA-256)", el("span", { class: "figure breaks" }, ...pairs)],
    ]),
    el("p", { class: "quiet" }, "The phone shows the same fingerprint. If it differs, stop."),
  );
}

/**
 * Shows the phones, and the code for the next.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { book }) {
  const body = el("div");
  const titles = new Map((await book.sync.service.surveys().catch(() => [])).map(({ id, title }) => [id, title]));
  const show = async () => {
    const told = await phones().catch((error) => error);
    if (told instanceof Error) return fill(body, el("p", { class: "wrong", role: "alert" }, why(told)));
    const made = el("div", { role: "status" });
    const sees = choices(titles);
    const next = async () => {
      const outcome = await offer(sees.chosen()).catch((error) => error);
      fill(made, outcome instanceof Error ? el("p", { class: "wrong" }, why(outcome)) : shown(outcome));
    };
    const off = "The service was started without phones. Start it with: baywalk serve --phone";
    const list = told.phones.map((/** @type {Device} */ one) => phone(one, titles, () => void show()));
    fill(
      body,
      ...(told.on
        ? [
            trust(told),
            el("h2", null, "Pair a phone"),
            sees.node,
            el(
              "p",
              null,
              button("Show a code", () => void next(), { class: "first" }),
            ),
            made,
          ]
        : [el("p", null, off)]),
      el("h2", null, "Paired phones"),
      list.length ? el("ul", { class: "plain" }, ...list) : el("p", null, "None yet."),
      el(
        "p",
        null,
        button("Look again", () => void show(), { class: "slight" }),
      ),
    );
  };
  fill(host, el("h1", null, "Phones"), body);
  await show();
  return { title: "Phones" };
}
