/**
 * A deck drawn true to scale: the joists, the boards over them with their joints, or the timbers that
 * go in before. A touch on a board or a bay picks it.
 * @module screens/plan-drawing
 */
import { measured } from "../lengths.js";
import { sheetHeight, sheetWidth, svg } from "../ui.js";
import { bayName } from "../words.js";

/** @typedef {[number, number]} Point [mm] */
/** @typedef {(point: Point) => Point} Fit from mm to the drawing's own units */
/** @typedef {{piece?: string, bay?: number}} Picked */
/** @typedef {{show: "boards" | "timber", laid: string[], picked: Picked, pick: (what: Picked) => void}} Hands */
/** @typedef {(id: string) => "done" | "now" | "later"} Stage how far a piece or timber has come */

/** Margins in drawing units, one to a CSS pixel at the usual text size. */
const SIDE = 14;
const TOP = 30;
/** The least room: a course, so that a finger finds its boards; and a bay, for the same. */
const LEAST_COURSE = 35;
const LEAST_BAY = 20;
/** What a step's drawing takes of the screen's height, as in its style; a course need only hold its name. */
const [STAGE, LEAST_STAGE] = [0.4, 18];

/** @param {number} value */
const round = (value) => Math.round(value * 100) / 100;

/** @param {any} deck @returns {Point[]} every corner that must be on the sheet */
function corners({ deck, joists }) {
  return [...deck.outline, ...joists.flatMap((/** @type {any} */ { line }) => line)];
}

/** @param {any} deck @param {number} [high] the most that the drawing may be high */
function frame(deck, high = Infinity) {
  const points = corners(deck);
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const along = deck.joists.map((/** @type {any} */ { line }) => line[0][0]);
  const bays = along.slice(1).map((/** @type {number} */ x, /** @type {number} */ at) => x - along[at]);
  const usual = bays.sort((/** @type {number} */ a, /** @type {number} */ b) => a - b)[Math.floor(bays.length / 2)];
  const k = Math.max(
    Math.min((sheetWidth() - 2 * SIDE) / (x1 - x0), (high - TOP - SIDE) / (y1 - y0)),
    (high < Infinity ? LEAST_STAGE : LEAST_COURSE) / deck.deck.board.width,
    LEAST_BAY / Math.max(usual ?? 400, 200),
  );
  const fit = (/** @type {Point} */ [x, y]) =>
    /** @type {Point} */ ([round(SIDE + (x - x0) * k), round(TOP + (y1 - y) * k)]);
  return { k, fit, width: Math.ceil((x1 - x0) * k + 2 * SIDE), height: Math.ceil((y1 - y0) * k + TOP + SIDE) };
}

/** @param {Point[]} points @param {Fit} fit */
const path = (points, fit) => `M${points.map((point) => fit(point).join(" ")).join("L")}Z`;

/** @param {Point[]} points @returns {Point} middle of what they span */
function middle(points) {
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  return [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
}

/** @param {Point} from @param {Point} to @param {number} breadth @returns {Point[]} the timber's corners seen from above */
function bar([x0, y0], [x1, y1], breadth) {
  const long = Math.hypot(x1 - x0, y1 - y0) || 1;
  const dx = ((y1 - y0) / long) * (breadth / 2);
  const dy = (-(x1 - x0) / long) * (breadth / 2);
  return [
    [x0 + dx, y0 + dy],
    [x1 + dx, y1 + dy],
    [x1 - dx, y1 - dy],
    [x0 - dx, y0 - dy],
  ];
}

/** @param {Picked} what */
const keyOf = ({ piece, bay }) => (piece ? `piece ${piece}` : `bay ${bay}`);

/**
 * Marks what is picked on a drawing that stands, so that the focus stays where it is.
 * @param {Element} frame
 * @param {Picked} what
 */
export function showPicked(frame, what) {
  for (const node of frame.querySelectorAll(".touch")) {
    const on = node.getAttribute("data-what") === keyOf(what);
    node.classList.toggle("picked", on);
    node.setAttribute("aria-pressed", String(on));
  }
}

/**
 * What can be touched, or reached by the keyboard.
 * @param {string} label
 * @param {Picked} what
 * @param {Hands} hands
 * @param {...(Node | false)} children
 */
function touchable(label, what, { pick }, ...children) {
  const act = () => pick(what);
  const key = (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    act();
  };
  return svg(
    "g",
    {
      role: "button",
      tabindex: "0",
      "aria-label": label,
      "aria-pressed": "false",
      "data-what": keyOf(what),
      class: "touch",
      onclick: act,
      onkeydown: key,
    },
    ...children,
  );
}

/** @param {any} joist @param {Fit} fit @param {Stage} [stage] */
function joistNode({ name, line, breadth, added }, fit, stage) {
  const stretches = line
    .slice(1)
    .map((/** @type {Point} */ to, /** @type {number} */ at) => bar(line[at], to, breadth));
  const [x] = fit(line[line.length - 1]);
  return svg(
    "g",
    { class: stage?.(name) },
    svg("path", {
      d: stretches.map((/** @type {Point[]} */ one) => path(one, fit)).join(""),
      class: added ? "joist added" : "joist",
    }),
    svg("text", { x, y: TOP - 12, "text-anchor": "middle", class: "name" }, name),
  );
}

/** @param {any} piece @param {Fit} fit @param {Hands} hands */
function pieceNode({ id, polygon, holes = [], board, length }, fit, hands) {
  const [x, y] = fit(middle(polygon));
  const outline = [polygon, ...holes].map((points) => path(points, fit)).join("");
  const laid = hands.laid.includes(id);
  return touchable(
    `Piece ${id}, ${measured(length)}, from board ${board}${laid ? ", laid" : ""}`,
    { piece: id },
    hands,
    svg("path", { d: outline, class: "piece", "fill-rule": "evenodd" }),
    svg("text", { x, y, dy: "0.35em", "text-anchor": "middle", class: "fig" }, id, laid && " ✓"),
  );
}

/** A joint on a joist is a plain line; one on a frame carries a square, one on a cleat a half one. @param {any} joint @param {Fit} fit */
function jointNode({ x, y0, y1, support }, fit) {
  const [a, b] = [fit([x, y0]), fit([x, y1])];
  const mid = round((a[1] + b[1]) / 2);
  const sign = support.frame ? `M${a[0] - 4} ${mid - 4}h8v8h-8z` : support.cleat ? `M${a[0]} ${mid - 4}h4v8h-4z` : "";
  return svg("path", { d: `M${a.join(" ")}L${b.join(" ")}${sign}`, class: "joint" });
}

/** @param {any} noggin @param {Fit} fit */
const nogginNode = ({ ends: [from, to], section, use }, fit) =>
  svg("path", { d: path(bar(from, to, section.breadth), fit), class: `short ${use}` });

/** @param {Point[]} line @param {number} y @returns {number} where the line is at that y [mm] */
function xAt(line, y) {
  const over = line.findIndex(([, to]) => to >= y);
  const at = Math.min(Math.max(over < 0 ? line.length - 1 : over, 1), line.length - 1);
  const [[x0, y0], [x1, y1]] = [line[at - 1], line[at]];
  return x0 + ((x1 - x0) * (y - y0)) / (y1 - y0 || 1);
}

/** A cleat beside its joist, or a packer or batten on it. @param {any} timber @param {any[]} under @param {Fit} fit */
function cleatNode({ joist, added, side, y, length, section, breadth = section?.breadth }, under, fit) {
  const on = under.find((one) => one.joist === joist && one.added === added);
  if (!on) return null;
  const out = side ? ((on.breadth + breadth) / 2) * (side === "left" ? -1 : 1) : 0;
  const end = (/** @type {number} */ at) => /** @type {Point} */ ([xAt(on.line, at) + out, at]);
  const area = bar(end(y - length / 2), end(y + length / 2), breadth);
  return svg("path", { d: path(area, fit), class: "short cleat" });
}

/**
 * The bays from wall to wall, each with its corners.
 * @param {any} deck
 * @returns {{bay: number, area: Point[]}[]}
 */
function bays({ deck, joists }) {
  const [xs, ys] = [0, 1].map((axis) => deck.outline.map((/** @type {Point} */ point) => point[axis]));
  const [y0, y1] = [Math.min(...ys), Math.max(...ys)];
  const upright = (/** @type {number} */ x) => ({
    line: [
      [x, y0],
      [x, y1],
    ],
  });
  const real = joists.filter((/** @type {any} */ { added }) => !added);
  const lines = [upright(Math.min(...xs)), ...real, upright(Math.max(...xs))];
  const first = real[0]?.joist ?? 1;
  return lines.slice(1).map((right, at) => ({
    bay: first - 1 + at,
    area: [...lines[at].line, ...[...right.line].reverse()],
  }));
}

/** @param {any} deck @param {Fit} fit @param {Hands} hands @param {number} joists */
function bayNodes(deck, fit, hands, joists) {
  return bays(deck).map(({ bay, area }) => {
    const many = deck.noggins.filter((/** @type {any} */ one) => one.bay === bay).length;
    return touchable(
      `Bay ${bayName(bay, joists)}, noggins: ${many}`,
      { bay },
      hands,
      svg("path", { d: path(area, fit), class: "bay" }),
    );
  });
}

/**
 * The deck as far as it has come: what is done is drawn whole, what comes now in the accent, what comes
 * later is left out or, of boards, drawn in a broken line.
 * @param {any} deck
 * @param {Stage} stage
 * @param {string} label
 * @returns {SVGSVGElement}
 */
export function drawStage(deck, stage, label) {
  const { fit, width, height } = frame(deck, sheetHeight() * STAGE);
  const timbers = [...deck.noggins, ...deck.cleats, ...deck.raise]
    .filter(({ id }) => stage(id) !== "later")
    .map((one) =>
      svg("g", { class: stage(one.id) }, one.ends ? nogginNode(one, fit) : cleatNode(one, deck.joists, fit)),
    );
  const boards = deck.pieces.map((/** @type {any} */ { id, polygon, holes = [] }) => {
    const [x, y] = fit(middle(polygon));
    const outline = [polygon, ...holes].map((points) => path(points, fit)).join("");
    const name =
      stage(id) === "later" ? null : svg("text", { x, y, dy: "0.35em", "text-anchor": "middle", class: "fig" }, id);
    return svg("g", { class: stage(id) }, svg("path", { d: outline, class: "piece", "fill-rule": "evenodd" }), name);
  });
  return sheet(
    { width, height, role: "img", label },
    ...deck.joists.map((/** @type {any} */ one) => joistNode(one, fit, stage)),
    ...timbers,
    ...deck.openings.map((/** @type {any} */ one) => openingNode(one, fit)),
    ...boards,
  );
}

/** @param {{width: number, height: number, role: string, label: string}} how @param {...(Node | null)} children */
function sheet({ width, height, role, label }, ...children) {
  return svg(
    "svg",
    {
      viewBox: `0 0 ${width} ${height}`,
      role,
      "aria-label": label,
      class: "plan deck",
      style: { width: `${width / 16}rem`, "max-width": "none" },
    },
    ...children,
  );
}

/** @param {any} opening @param {Fit} fit */
function openingNode({ polygon }, fit) {
  const [a, b, c, d] = polygon.map(fit);
  return svg("path", {
    d: `${path(polygon, fit)}M${a.join(" ")}L${c.join(" ")}M${b.join(" ")}L${d.join(" ")}`,
    class: "opening",
  });
}

/**
 * The drawing of one deck.
 * @param {any} deck one of the plan's decks
 * @param {Hands} hands
 * @param {number} joists how many joists the run has
 * @returns {SVGSVGElement}
 */
export function drawDeck(deck, hands, joists) {
  const { fit, width, height } = frame(deck);
  const boards = hands.show === "boards";
  const below = [
    ...deck.noggins.map((/** @type {any} */ one) => nogginNode(one, fit)),
    ...deck.cleats.map((/** @type {any} */ one) => cleatNode(one, deck.joists, fit)),
  ];
  const over = boards
    ? [
        ...deck.pieces.map((/** @type {any} */ one) => pieceNode(one, fit, hands)),
        ...deck.joints.map((/** @type {any} */ one) => jointNode(one, fit)),
      ]
    : bayNodes(deck, fit, hands, joists);
  const label = `Deck ${deck.id}, drawn to scale. The lists below hold the same figures.`;
  return sheet(
    { width, height, role: "group", label },
    ...deck.joists.map((/** @type {any} */ one) => joistNode(one, fit)),
    ...below,
    svg("path", { d: path(deck.deck.outline, fit), class: "edge" }),
    ...deck.openings.map((/** @type {any} */ one) => openingNode(one, fit)),
    ...over,
  );
}
