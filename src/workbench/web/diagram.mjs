// The current-flow diagram, alive: what the hands set is seen at once on the engine's own drawing.
import { drawn } from "./drawn.mjs";
import { makeHands } from "./hands.mjs";
import { button, ink, make, refill } from "./make.mjs";
import { makeSlip } from "./slip.mjs";
import { makeStage } from "./stage.mjs";
import { degrees, figure, later, t } from "./words.mjs";

const LIVE_V = 1, CARRIES_A = 0.01, KINDS = ["wire", "element", "pin", "part"];
let desk, ends, stage, things, walk, marks, figures = false, sheetsKey = "";

// --- What can be tapped -------------------------------------------------------------------------------------------

const nameOf = (group) => KINDS.map((kind) => [kind, group.dataset[kind]]).find(([, name]) => name !== undefined);

/** Both ends of the moving part of a contact, open and closed, from the way the symbol is drawn: a stub to the pivot, a blade from it. */
function bladeOf(group) {
  const lines = [...group.querySelectorAll("path")].map((path) => ({ path, spots: path.getAttribute("d").match(/-?[\d.]+/g).map(Number) })).filter(({ spots }) => spots.length === 4);
  for (const { spots: [x, y, toX, toY] } of lines) {
    if (x !== toX || toY <= y) continue;
    const blade = lines.find(({ spots }) => spots[0] === x && spots[1] === y && spots[3] < y);
    if (!blade) continue;
    const breaks = lines.some(({ spots }) => spots[0] === x && spots[1] === spots[3] && Math.abs(y - 5 - spots[1]) < 0.02 && spots[2] > x);
    const at = (dx, dy) => `M${x} ${y}L${x + dx} ${y + dy}`;
    return { path: blade.path, closed: breaks ? at(3, -6) : at(0, -5), open: breaks ? at(3.75, -5.25) : at(-2.5, -4.5) };
  }
  return null;
}

/** The line of letters that gives way to figures on demand. */
function lineFor(kind, group) {
  const texts = [...group.querySelectorAll("text")].filter((text) => !text.hasAttribute("font-size"));
  const plain = texts.filter((text) => !text.hasAttribute("font-weight"));
  const text = kind === "pin" ? texts[0] : plain.at(-1);
  return text ? { text, words: text.textContent, length: text.getAttribute("textLength"), alone: kind === "pin" || plain.length < 2 } : null;
}

function takeThings(svgs) {
  things = { wire: new Map(), element: new Map(), pin: new Map(), part: new Map() };
  walk = [];
  for (const svg of svgs)
    for (const group of svg.querySelectorAll("[data-wire], [data-element], [data-pin], [data-part]")) {
      const [kind, name] = nameOf(group);
      group.setAttribute("role", "button");
      group.setAttribute("tabindex", "-1");
      group.setAttribute("aria-label", `${t(kind)} ${name}`);
      if (!things[kind].has(name)) things[kind].set(name, []);
      things[kind].get(name).push({ group, was: "", line: lineFor(kind, group), blade: kind === "element" ? bladeOf(group) : null, said: null });
      walk.push({ kind, name, group });
    }
  walk[0]?.group.setAttribute("tabindex", "0");
}

// --- What the state does to the drawing ---------------------------------------------------------------------------

let endsOf = new Map(); // wire: [from, to]

function wireLook(name, wire, pins) {
  const share = wire.degC === null ? Infinity : wire.limit_degC > 0 ? wire.degC / wire.limit_degC : 0; // null: it finds no balance, it burns
  const amps = Math.abs(wire.A);
  const live = (endsOf.get(name) ?? []).some((pin) => Math.abs(pins[pin] ?? 0) > LIVE_V);
  const weight = amps < CARRIES_A ? (live ? "live" : "") : amps < 2 ? "carries" : amps < 10 ? "carries much" : "carries most";
  return `${weight}${share > 1 ? " over" : share > 0.7 && amps >= CARRIES_A ? " warm" : ""}`;
}

const elementLook = (name, element, coils) =>
  [element.runs ? "runs" : "", Math.abs(element.A ?? 0) >= CARRIES_A ? "carries" : "", coils[name] ? "pulled" : "", element.closed === true ? "closed" : element.closed === false ? "open" : ""].filter(Boolean).join(" ");

function wear(spots, look, words) {
  for (const spot of spots ?? []) {
    if (spot.was !== look) {
      spot.group.setAttribute("class", look);
      spot.was = look;
      if (spot.blade && /\b(open|closed)\b/.test(look)) spot.blade.path.setAttribute("d", /\bclosed\b/.test(look) ? spot.blade.closed : spot.blade.open);
    }
    if (spot.line && spot.said !== words) {
      spot.said = words;
      const { text, words: before, length, alone } = spot.line;
      text.textContent = words === null ? before : alone ? `${before}  ${words}` : words;
      if (words === null) text.setAttribute("textLength", length);
      else text.removeAttribute("textLength");
      text.classList.toggle("figure", words !== null);
    }
  }
}

const besideWire = ({ A, degC }) => (Math.abs(A) < CARRIES_A ? figure(0, "A") : `${figure(Math.abs(A), "A")} ${degC === null ? t("burns") : degrees(degC)}`);
const besideElement = ({ V, A }) => [Number.isFinite(V) ? figure(Math.abs(V), "V") : "", Number.isFinite(A) ? figure(Math.abs(A), "A") : ""].filter(Boolean).join(" ") || null;

function applyLive() {
  const live = desk.live ?? { wires: {}, elements: {}, pins: {}, coils: {} };
  for (const [name, spots] of things.wire) {
    const wire = live.wires[name];
    wear(spots, wire ? wireLook(name, wire, live.pins) : "", figures && wire ? besideWire(wire) : null);
  }
  for (const [name, spots] of things.element) {
    const element = live.elements[name];
    wear(spots, element ? elementLook(name, element, live.coils) : "", figures && element ? besideElement(element) : null);
  }
  for (const [name, spots] of things.pin)
    wear(spots, Math.abs(live.pins[name] ?? 0) > LIVE_V ? "live" : "", figures && live.pins[name] !== undefined ? figure(live.pins[name], "V") : null);
}

function takeEnds() {
  endsOf = new Map(desk.job.records.filter(({ kind, variant }) => kind === "wire" && !variant).map(({ name, values }) => [name, [values.from, values.to]]));
}

// --- Frames around what is chosen, focused, broken ----------------------------------------------------------------

const spotsOf = (kind, name) => kind === "part" || !things[kind]?.has(name)
  ? walk.filter((thing) => (thing.kind === "part" && thing.name === name) || ((kind === "part" || kind === "pin") && thing.kind !== "wire" && (thing.name === name || thing.name.startsWith(`${name}.`)))).map(({ group }) => group)
  : things[kind].get(name).map(({ group }) => group);

function frame(group, look, words) {
  const { x, y, width, height } = group.getBBox(), pad = 1.2;
  const marked = ink("g", { class: `frame ${look}`, "aria-hidden": "true" },
    ink("rect", { x: x - pad, y: y - pad, width: width + 2 * pad, height: height + 2 * pad, rx: 1 }),
    words ? ink("path", { d: `M${x - pad} ${y - pad - 4.5}l2 2.2-1.6 1 2.6 2.8` }) : null,
    words ? ink("text", { x: x - pad + 3.4, y: y - pad - 1.2 }, words) : null);
  group.ownerSVGElement.append(marked);
  return marked;
}

function mark(look, groups, words) {
  for (const marked of marks.get(look) ?? []) marked.remove();
  marks.set(look, groups.map((group) => frame(group, look, words)));
}

/** What a fault is put on: as it was chosen, or the name at the head of its words. */
function faultPlace() {
  if (!desk.fault) return [];
  const of = desk.fault.of ?? walk.find(({ name }) => desk.live?.fault?.words?.split(/[ ,:]+/).includes(name) || desk.fault.key.split(/[ :]+/).includes(name));
  return of ? spotsOf(of.kind, of.name) : [];
}

function drawMarks() {
  const chosen = desk.chosen ? spotsOf(desk.chosen.kind, desk.chosen.name) : [];
  for (const { group } of walk) group.setAttribute("aria-pressed", String(chosen.includes(group)));
  mark("chosen", chosen);
  mark("broken", faultPlace(), t("put in"));
}

// --- Choosing -----------------------------------------------------------------------------------------------------

function choose(group) {
  const [kind, name] = nameOf(group);
  desk.choose(kind, name);
}

const NEAR_PX = 22;

/** A finger is wide: what lies nearest to it counts, when it lies near enough. */
function nearest(event) {
  const svg = event.target.closest("svg");
  if (!svg) return null;
  const to = svg.getScreenCTM().inverse(), spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(to), reach = NEAR_PX * to.a;
  let best = null, least = reach;
  for (const group of svg.querySelectorAll("[role=button]")) {
    const box = group.getBBox();
    if (spot.x < box.x - reach || spot.x > box.x + box.width + reach || spot.y < box.y - reach || spot.y > box.y + box.height + reach) continue;
    for (const path of group.querySelectorAll("path, circle")) {
      const far = farFrom(path, spot);
      if (far < least) [best, least] = [group, far];
    }
  }
  return best;
}

function farFrom(path, { x, y }) {
  if (path.localName === "circle") return Math.max(0, Math.hypot(x - path.cx.baseVal.value, y - path.cy.baseVal.value) - path.r.baseVal.value);
  const spots = path.getAttribute("d").match(/-?[\d.]+/g).map(Number);
  if (/A/.test(path.getAttribute("d"))) return Infinity;
  let least = Infinity;
  for (let i = 0; i + 3 < spots.length; i += 2) {
    const [ax, ay, bx, by] = spots.slice(i, i + 4), dx = bx - ax, dy = by - ay;
    const along = Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy || 1)));
    least = Math.min(least, Math.hypot(x - ax - along * dx, y - ay - along * dy));
  }
  return least;
}

const tellOf = (kind, name) => {
  const live = desk.live;
  const wire = kind === "wire" && live?.wires[name], element = kind === "element" && live?.elements[name];
  if (wire) return `${t("wire")} ${name}, ${(endsOf.get(name) ?? []).join(t(" to "))}, ${figure(Math.abs(wire.A), "A")}, ${degrees(wire.degC)}`;
  if (element) return `${name}, ${besideElement(element) ?? ""}${element.closed === undefined ? "" : element.closed ? t(", closed") : t(", open")}`;
  if (kind === "pin" && live?.pins[name] !== undefined) return `${t("pin")} ${name}, ${figure(live.pins[name], "V")}`;
  return `${t(kind)} ${name}`;
};

/** The next thing on the paper in the direction of an arrow key. */
function stepFrom(group, key) {
  const middle = (element) => { const box = element.getBoundingClientRect(); return [box.left + box.width / 2, box.top + box.height / 2]; };
  const [x, y] = middle(group), [ux, uy] = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[key];
  let best = null, least = Infinity;
  for (const thing of walk) {
    if (thing.group === group) continue;
    const [tx, ty] = middle(thing.group), along = (tx - x) * ux + (ty - y) * uy, across = Math.abs((tx - x) * uy - (ty - y) * ux);
    const cost = along + 2.5 * across;
    if (along > 1 && cost < least) [best, least] = [thing.group, cost];
  }
  return best;
}

function onKey(event) {
  const group = event.target.closest?.("[role=button]");
  if (!group || event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
  if (event.key === "Enter" || event.key === " ") { event.preventDefault(); event.stopPropagation(); choose(group); return; }
  if (!event.key.startsWith("Arrow")) return;
  event.preventDefault();
  event.stopPropagation();
  const next = stepFrom(group, event.key);
  if (next) stepTo(next);
}

function stepTo(group) {
  for (const thing of walk) if (thing.group.getAttribute("tabindex") === "0") thing.group.setAttribute("tabindex", "-1");
  group.setAttribute("tabindex", "0");
  group.setAttribute("aria-label", tellOf(...nameOf(group)));
  group.focus({ preventScroll: true });
  stage.seek(group, false);
}

function onFocus(event) {
  const group = event.target.closest?.("[role=button]");
  if (group) group.setAttribute("aria-label", tellOf(...nameOf(group)));
  mark("focused", group && group.matches(":focus-visible") ? [group] : []);
}

// --- The view -----------------------------------------------------------------------------------------------------

async function layDrawing(jumps) {
  let sheets;
  try {
    const { drawings } = await desk.ask("/drawings");
    const diagram = drawings.find(({ name }) => name === "diagram");
    if (!diagram?.sheets) throw Object.assign(new Error(), { wrong: diagram?.wrong ?? t("There is no diagram yet."), remedy: "" });
    sheets = await Promise.all(Array.from({ length: diagram.sheets }, (_, i) => desk.askText(`/drawings/diagram/${i + 1}.svg`)));
  } catch (error) {
    sheetsKey = "";
    takeThings([]);
    stage.bed.replaceChildren(make("div", { class: "wait" }, make("p", null, error.wrong ?? String(error)), make("p", null, error.remedy ?? "")));
    return;
  }
  const key = sheets.join("\n");
  if (key === sheetsKey && stage.bed.querySelector("svg")) return;
  sheetsKey = key;
  const svgs = sheets.map((markup, i) => drawn(markup, t("Current-flow diagram, sheet {i} of {n}", { i: i + 1, n: sheets.length }), "group"));
  takeThings(svgs);
  marks = new Map();
  stage.lay(svgs);
  refill(jumps, svgs.length < 2 ? null : [make("span", null, t("Sheet")), svgs.map((_, i) => button(String(i + 1), () => stage.show(i + 1), { "aria-label": t("Sheet {i}", { i: i + 1 }) }))]);
  takeEnds();
  applyLive();
  drawMarks();
}

function stateLine(line) {
  const { live, wrong } = desk;
  if (!live) return refill(line, wrong ? `${wrong.wrong} ${wrong.remedy}` : t("Solving …"));
  const odd = { chatter: t("A relay chatters in this state."), latching: t("More than one state can hold here: it latches."), stalled: t("No steady state was found.") }[live.outcome];
  refill(line, make("strong", null, live.words || t("Everything at rest")), odd ? make("em", null, ` ${odd}`) : null,
    live.possible === false ? make("em", null, ` ${t("This cannot happen in the vehicle.")}`) : null);
  return line;
}

function faultStrip(strip) {
  const fault = desk.live?.fault;
  refill(strip, !fault ? null : make("div", { class: "notice fault" },
    make("p", null, make("strong", null, t("Put in: {words}.", { words: fault.words.replace(/\.$/, "") })), " ", fault.clears ?? ""),
    fault.what?.length ? make("ul", null, fault.what.map((what) => make("li", null, what))) : null,
    button(t("Take the fault out"), () => desk.putFault(null))));
}

function key() {
  return make("details", { class: "reading" }, make("summary", null, t("How to read it")), make("ul", null,
    make("li", null, t("Thin line: dead. Heavier: under voltage. Heavier still: carries current, the more the heavier.")),
    make("li", null, t("Warm colour around a wire: near its limit of temperature; broken line: above it.")),
    make("li", null, t("Filled: a load that runs, a coil that pulls. Contacts stand as they stand in this state.")),
    make("li", null, t("Zigzag and broken frame: a fault that was put in."))));
}

export const view = {
  name: "diagram",
  title: later("Diagram"),
  show(place, theDesk) {
    desk = theDesk;
    stage = makeStage(t("Current-flow diagram: arrow keys walk along it, Enter chooses"));
    marks = new Map();
    takeThings([]);
    sheetsKey = "";
    const hands = makeHands(desk), slip = makeSlip(desk);
    const line = make("p", { class: "state", "aria-live": "polite" }), jumps = make("div", { class: "jumps", role: "group", "aria-label": t("Sheets") }), strip = make("div");
    const beside = make("button", { type: "button", "aria-pressed": String(figures), class: "figures", onclick: () => {
      figures = !figures;
      beside.setAttribute("aria-pressed", String(figures));
      applyLive();
    }, title: t("Write figures beside (F)") }, t("Figures beside"));
    stage.root.addEventListener("click", (event) => {
      const group = event.target.closest?.("[role=button]") ?? nearest(event);
      if (group) { choose(group); stepTo(group); } else desk.choose(null);
    });
    stage.root.addEventListener("keydown", onKey, true);
    stage.root.addEventListener("focusin", onFocus);
    stage.root.addEventListener("focusout", () => mark("focused", []));
    place.append(hands.root,
      make("section", { class: "middle", "aria-label": t("Diagram") }, make("div", { class: "over" }, line, beside), strip, make("div", { class: "table" }, stage.root, jumps, stage.nearness), key()), slip.root);
    const draw = () => { applyLive(); drawMarks(); stateLine(line); faultStrip(strip); };
    ends = [desk.on("live", draw), desk.on("chosen", drawMarks), desk.on("job", () => { takeEnds(); }), desk.on("findings", () => layDrawing(jumps)), hands.end, slip.end, stage.end];
    takeEnds();
    stateLine(line);
    faultStrip(strip);
    layDrawing(jumps).then(() => {
      const groups = desk.chosen ? spotsOf(desk.chosen.kind, desk.chosen.name) : [];
      if (groups[0]) stage.seek(groups[0], true);
    });
  },
  leave() { ends.forEach((end) => end()); },
};
