// The slip beside the drawing: what is chosen, its figures, what binds it, its findings, its faults, and a form to change it.
import { firstFinding } from "./head.mjs";
import { button, make, refill } from "./make.mjs";
import { t } from "./words.mjs";

const gradeMark = (grade) => make("span", { class: `grade ${grade}` }, t(grade));

/** Records and things by name, for whoever types a name. */
export function everything(desk) {
  const found = new Map();
  const add = (kind, name) => name && !found.has(name) && found.set(name, { kind, name });
  for (const record of desk.job.records) if (["wire", "part", "element", "pin"].includes(record.kind)) add(record.kind, record.name);
  for (const name of Object.keys(desk.live?.elements ?? {})) add("element", name);
  for (const name of Object.keys(desk.live?.pins ?? {})) add("pin", name);
  return found;
}

function finder(desk) {
  const list = make("datalist", { id: "everything" });
  const box = make("input", { id: "find", list: "everything", autocomplete: "off", spellcheck: "false", onfocus: () => refill(list, [...everything(desk).keys()].map((name) => make("option", { value: name }))) });
  const find = () => {
    const thing = everything(desk).get(box.value.trim()) ?? everything(desk).get(box.value.trim().toUpperCase());
    if (thing) desk.go("diagram", `${thing.kind}/${thing.name}`);
    else desk.say(t("Nothing here is called {name}.", { name: box.value }), { wrong: true });
  };
  return make("form", { class: "find", onsubmit: (event) => { event.preventDefault(); find(); }, onchange: () => { if (everything(desk).has(box.value)) find(); } },
    make("label", { for: "find" }, t("Find a wire, pin or part")), make("div", null, box, make("button", { type: "submit" }, t("Go"))), list);
}

function adder(desk, body) {
  const kinds = (desk.schema?.kinds ?? []).filter(({ naming }) => naming !== undefined);
  const choice = make("select", { id: "add-kind" }, kinds.map(({ word, help }) => make("option", { value: word, title: help }, word)));
  choice.value = kinds.some(({ word }) => word === "wire") ? "wire" : "";
  return make("div", { class: "add" }, make("label", { for: "add-kind" }, t("Add to the sheet")),
    make("div", null, choice, button(t("Fill in"), () => {
      const back = () => body.draw(true);
      refill(body.element, make("h2", null, t("New: {kind}", { kind: choice.value })), desk.form(choice.value, null, back));
      body.element.querySelector("input, select")?.focus();
    })));
}

function resting(desk, body) {
  const first = firstFinding(desk.findings);
  return [make("h2", null, t("Nothing chosen")),
    make("p", null, t("Turn the key at the side, then tap a wire, a pin or a part: this slip tells what it carries, what limits it and what is wrong with it.")),
    first ? make("p", { class: "first" }, gradeMark(first.grade), " ", button(first.title, () => desk.go("findings", first.id), { class: "link" })) : null,
    finder(desk), adder(desk, body)];
}

function neighbours(desk, { kind, name }) {
  const { records } = desk.job, press = (to, called) => button(called, () => desk.go("diagram", `${to}/${called}`), { class: "link" });
  const list = [];
  const wires = records.filter((record) => record.kind === "wire" && !record.variant);
  if (kind === "wire") {
    const wire = wires.find((record) => record.name === name);
    if (wire) list.push([t("from"), press("pin", wire.values.from)], [t("to"), press("pin", wire.values.to)]);
  }
  if (kind === "pin") for (const wire of wires) if (wire.values.from === name || wire.values.to === name) list.push([t("wire"), press("wire", wire.name)]);
  if (kind === "pin" || kind === "element") list.push([t("part of"), press("part", name.slice(0, name.lastIndexOf(".")))]);
  if (kind === "part") {
    for (const element of Object.keys(desk.live?.elements ?? {})) if (element.startsWith(`${name}.`)) list.push([t("inside"), press("element", element)]);
    for (const pin of Object.keys(desk.live?.pins ?? {})) if (pin.startsWith(`${name}.`)) list.push([t("pin"), press("pin", pin)]);
  }
  return list.length === 0 ? null : make("ul", { class: "near" }, list.slice(0, 40).map(([what, to]) => make("li", null, `${what} `, to)));
}

function faultsOf(desk, { kind, name }) {
  const list = make("ul", { class: "faults" });
  const read = async (event) => {
    if (!event.target.open || list.childElementCount > 0) return;
    try {
      const { faults } = await desk.ask(`/faults/of?${new URLSearchParams({ kind, name })}`);
      refill(list, faults.length === 0 ? make("li", null, t("No fault of its own.")) : faults.map((fault) =>
        make("li", null, button(fault.words, () => desk.putFault(fault.key, { kind, name }), { "data-fault": fault.key }))));
    } catch (error) {
      refill(list, make("li", null, `${error.wrong} ${error.remedy}`));
    }
  };
  return make("details", { class: "try", ontoggle: read }, make("summary", null, t("What if it breaks?")), list);
}

function findingsOf(desk, ids) {
  const found = (desk.findings?.findings ?? []).filter(({ id }) => ids.includes(id));
  return found.map((finding) => make("li", null, gradeMark(finding.grade), " ", button(finding.title, () => desk.go("findings", finding.id), { class: "link" }), make("p", null, finding.what)));
}

const FIRST_FIGURES = 8;
const figureRows = (figures) => [figureList(figures.slice(0, FIRST_FIGURES)), figures.length <= FIRST_FIGURES ? null
  : make("details", null, make("summary", null, t("{n} figures more", { n: figures.length - FIRST_FIGURES })), figureList(figures.slice(FIRST_FIGURES)))];

function figureList(figures) {
  return make("dl", { class: "figures" }, figures.flatMap(({ what, value, state }) =>
    [make("dt", null, what), make("dd", null, make("strong", null, value), state ? make("small", null, state) : null)]));
}

function told(desk, about, parts) {
  refill(parts.what, about.what);
  const open = parts.figures.querySelector("details[open]") !== null;
  refill(parts.figures, figureRows(about.figures ?? []));
  if (open) parts.figures.querySelector("details")?.setAttribute("open", "");
  refill(parts.binds, about.binds ? make("p", { class: "binds" }, make("strong", null, t("What limits it: ")), about.binds) : null);
  const found = findingsOf(desk, about.findings ?? []);
  refill(parts.findings, found.length === 0 ? null : make("ul", { class: "found" }, found));
  refill(parts.evidence, about.evidence || about.evidence_words ? make("p", null, make("span", { class: `proven ${about.evidence ?? ""}` }, t(about.evidence ?? "")), " ", about.evidence_words ?? "") : null);
  const record = desk.job.records.find(({ index }) => index === about.record);
  const key = record?.source ?? "";
  if (parts.change.dataset.for === key || parts.change.querySelector("details[open]")) return;
  parts.change.dataset.for = key;
  refill(parts.change, !record ? null : make("details", { class: "try", ontoggle: (event) => {
    const place = event.target.lastChild;
    if (event.target.open && place.childElementCount === 0) place.append(desk.form(record.kind, record, () => { event.target.open = false; place.replaceChildren(); }));
  } }, make("summary", null, t("Change {kind} {name}", record)), make("div")));
}

/** The slip as an element; `end` takes it away. */
export function makeSlip(desk) {
  const root = make("aside", { class: "slip", "aria-label": t("Slip: what is chosen") });
  let parts = null, shownFor = null, asking = null;

  const body = { element: root, draw };

  async function tell() {
    const chosen = desk.chosen;
    asking?.abort();
    const mine = (asking = new AbortController());
    try {
      const about = await desk.ask(`/about?${desk.params(chosen)}`, { signal: mine.signal });
      if (chosen === desk.chosen && parts) told(desk, about, parts);
    } catch (error) {
      if (error.name !== "AbortError" && chosen === desk.chosen && parts) { refill(parts.what, error.wrong); refill(parts.figures, error.remedy); }
    }
  }

  function draw(anew = false) {
    const { chosen } = desk;
    root.classList.toggle("chosen", chosen !== null);
    if (!chosen) {
      asking?.abort();
      parts = null;
      shownFor = null;
      if (anew || !root.querySelector("form.record")) refill(root, resting(desk, body));
      return;
    }
    const key = `${chosen.kind}/${chosen.name}`;
    if (anew || shownFor !== key) {
      shownFor = key;
      parts = Object.fromEntries(["what", "binds", "figures", "findings", "evidence", "change"].map((name) => [name, make(name === "what" ? "p" : "div", { class: name })]));
      refill(root, make("div", { class: "over" }, make("h2", { tabindex: "-1" }, `${t(chosen.kind)} ${chosen.name}`), button("\u00d7", () => desk.choose(null), { "aria-label": t("Put the slip away"), class: "quiet" })),
        parts.what, parts.binds, parts.figures, parts.findings, parts.evidence, parts.change, faultsOf(desk, chosen), neighbours(desk, chosen));
      root.scrollTop = 0;
    }
    tell();
  }

  const ends = [desk.on("chosen", () => draw(true)), desk.on("live", () => desk.chosen && draw()), desk.on("findings", () => draw())];
  draw();
  return { root, end: () => { ends.forEach((end) => end()); asking?.abort(); } };
}
