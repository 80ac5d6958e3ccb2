// An unknown plug: the caution first, then one reading after the other, until the picture is full and the records stand in the sheet.
import { drawn } from "./drawn.mjs";
import { button, ink, make, refill } from "./make.mjs";
import { quoted, readTyped, today, units } from "./measure.mjs";
import { dress, study } from "./study.mjs";
import { later, t } from "./words.mjs";

const WHO = "loomgraft phone who";
let part = null, agreed = false, passed = new Set();

function who() { try { return JSON.parse(localStorage.getItem(WHO)) ?? {}; } catch { return {}; } }
function keepWho(news) { try { localStorage.setItem(WHO, JSON.stringify({ ...who(), ...news })); } catch { /* asked again */ } }

const cautions = () => [t("A seat, belt or steering wheel from a donor may hold a side airbag, a pretensioner or an occupancy mat. They can fire and kill."),
  t("Never put a meter, a lamp or a supply on such a circuit, nor on a plug that may belong to one. The plugs are yellow by habit, not always."),
  t("Key off, battery minus off and insulated; wait as the vehicle's manual says. The plug apart, nothing live. Touch bare metal of the body first."),
  t("Mark such cavities in the sheet with restraint=yes or restraint=maybe before you go on: they are never proposed."),
  t("Never an ohmmeter on control units. If in doubt, leave it to trained people.")];

/** Parts whose cavities may be unknown: donor parts and those with a face. */
const plugsOf = (desk) => desk.job.records.filter(({ kind, variant, values }) => kind === "part" && !variant && values.restraint !== "yes" && (values.face || values.type === "assembly" || values.type === "connector" || values.is === "donor")).sort((a, b) => Number(Boolean(b.values.face)) - Number(Boolean(a.values.face)));
const restrained = (desk, name) => desk.job.records.filter(({ kind, name: pin, values }) => kind === "pin" && pin.startsWith(`${name}.`) && (values.restraint === "yes" || values.restraint === "maybe"));
const readingsOf = (desk, name) => desk.job.records.filter(({ kind, variant, values }) => kind === "reading" && !variant && [values.from, values.to].every((pin) => pin?.startsWith(`${name}.`)));

/** The engine's own drawing of this plug, cut to it. */
async function faceOf(desk, name) {
  const { drawings } = await desk.ask("/drawings");
  const faces = drawings.find((drawing) => drawing.name === "faces");
  for (let sheet = 1; sheet <= (faces?.sheets ?? 0); sheet++) {
    const markup = await desk.askText(`/drawings/faces/${sheet}.svg`);
    const svg = drawn(markup, t("Face of {name}", { name }));
    if ([...svg.querySelectorAll("[data-pin]")].some((group) => group.dataset.pin.startsWith(`${name}.`))) return svg;
  }
  return null;
}

function cut(svg, name) {
  const boxes = [...svg.querySelectorAll("[data-pin]")].filter((group) => group.dataset.pin.startsWith(`${name}.`)).map((group) => group.getBBox());
  if (boxes.length === 0) return;
  const x = Math.min(...boxes.map((box) => box.x)) - 8, y = Math.min(...boxes.map((box) => box.y)) - 12;
  const width = Math.max(...boxes.map((box) => box.x + box.width)) - x + 8, height = Math.max(...boxes.map((box) => box.y + box.height)) - y + 12;
  svg.setAttribute("viewBox", `${x} ${y} ${width} ${height}`);
  svg.removeAttribute("width");
  svg.removeAttribute("height");
}

function mark(svg, pin, look, words) {
  for (const group of svg.querySelectorAll(`[data-pin="${CSS.escape(pin)}"]`)) {
    const box = group.getBBox();
    group.ownerSVGElement.append(ink("g", { class: "put", "aria-hidden": "true" }, ink("rect", { class: `mark ${look}`, x: box.x, y: box.y, width: box.width, height: box.height }),
      words && box.width < 3 * box.height ? ink("text", { class: `said ${look}`, x: box.x + box.width / 2, y: box.y - 0.8, "text-anchor": "middle" }, words) : null));
  }
}

function fillFace(svg, name, report, next) {
  for (const old of svg.querySelectorAll(".put")) old.remove();
  for (const { from, to } of report.tables.identified ?? []) for (const cavity of [from, to]) mark(svg, `${name}.${cavity}`, "known");
  if (next) { mark(svg, `${name}.${next.red}`, "red", t("RED")); mark(svg, `${name}.${next.black}`, "black", t("BLACK")); }
}

const share = (value) => (value === null || value === undefined ? "" : `${Math.round(value * 100)} %`);
const ohms = (value) => (value === null || value === undefined ? "" : value >= 1e3 ? `${Number((value / 1e3).toPrecision(3))} kohm` : `${Number(value.toPrecision(3))} ohm`);

function foundTable(report) {
  const rows = report.tables.identified ?? [];
  if (rows.length === 0) return make("p", null, t("Nothing is known of it yet."));
  return make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": t("What was found") }, make("table", null, make("thead", null, make("tr", null, [t("Between"), t("Ohms"), t("What it is"), t("Likelihood"), t("Or else")].map((title) => make("th", { scope: "col" }, make("span", { class: "head" }, title))))),
    make("tbody", null, rows.map((row) => make("tr", null, make("th", { scope: "row" }, `${row.from} \u2013 ${row.to}`), make("td", { class: "number" }, ohms(row.resistance_ohm)), make("td", null, row.class), make("td", { class: "number" }, share(row.likelihood)), make("td", null, row.or_else))))));
}

async function session(place, desk) {
  const name = part, face = make("div", { class: "face" }), ask = make("div", { class: "next" }), told = make("div", null), records = make("div", null);
  place.append(make("section", { class: "study" }, make("div", { class: "over" }, make("h2", { tabindex: "-1" }, t("Plug of {name}", { name })), button(t("Another plug"), () => { part = null; agreed = false; view.show(refill(place), desk, ""); })),
    make("div", { class: "plugs" }, face, ask), told, records));
  let svg = null;
  try { svg = await faceOf(desk, name); } catch { /* the words suffice */ }
  if (!face.isConnected) return;
  refill(face, svg ?? make("p", null, t("No drawing: say face=rows x columns at the part, then its cavities are drawn.")));
  if (svg) cut(svg, name);

  async function weigh() {
    refill(ask, make("p", { role: "status" }, t("One moment …")));
    let state;
    try { state = await study({ verb: "identify", part: name }); } catch (error) { return void refill(ask, make("p", { class: "error" }, `${error.wrong ?? error} ${error.remedy ?? ""}`), button(t("Again"), weigh)); }
    if (face.isConnected) draw(state);
  }

  function draw({ report, records: text }) {
    const list = report.tables.next ?? [], taken = new Set(readingsOf(desk, name).map(({ values }) => [values.from, values.to].sort().join()));
    const key = ({ red, black }) => [`${name}.${red}`, `${name}.${black}`].sort().join();
    const open = list.filter((row) => !passed.has(key(row)));
    const next = open.find((row) => !taken.has(key(row))) ?? open[0];
    if (svg) fillFace(svg, name, report, next);
    refill(ask, next ? askFor(next, key(next), taken.has(key(next))) : make("p", { class: "verdict" }, t("No reading would tell more.")), passed.size > 0 ? button(t("Bring back what was passed over"), () => { passed.clear(); draw({ report, records: text }); }) : null);
    refill(told, make("p", { class: "verdict" }, report.verdict), (report.findings ?? []).map((finding) => make("p", { class: "notice" }, make("strong", null, finding.what), ` ${finding.remedy ?? ""}`)), foundTable(report));
    refill(records, text?.trim() ? [make("h3", null, t("Records for the sheet")), make("pre", { tabindex: "0", "aria-label": t("Records for the sheet") }, text.trim()), make("div", { class: "acts" }, button(t("Write them into the sheet"), () => apply(text), { class: "main" }), button(t("Copy"), async () => { await navigator.clipboard?.writeText(text); desk.say(t("Copied.")); }))] : null);
  }

  function askFor(next, key, again) {
    let unit = "ohm";
    const input = make("input", { id: "shows", class: "value", inputmode: "decimal", autocomplete: "off", onkeydown: (event) => { if (event.key === "Enter") keepIt(); } });
    const wrong = make("p", { class: "error", role: "alert" }), moved = make("input", { id: "did", autocomplete: "off", maxlength: 120 });
    const meter = make("input", { id: "meter", value: who().instrument ?? "", autocomplete: "off", maxlength: 60, onchange: () => keepWho({ instrument: meter.value }) });
    const by = make("input", { id: "who", value: who().by ?? "", autocomplete: "off", maxlength: 60, onchange: () => keepWho({ by: by.value }) });
    const lead = make("input", { id: "lead", value: who().lead ?? "", inputmode: "decimal", autocomplete: "off", placeholder: "0.2", onchange: () => keepWho({ lead: Number(lead.value.replace(",", ".")) || null }) });
    const picks = [...units.resistance, units.volts[0]].map(([shown, word]) => button(shown, () => { unit = word; press(); }, { "data-unit": word, "aria-pressed": String(word === unit) }));
    const press = () => { for (const pick of picks) pick.setAttribute("aria-pressed", String(pick.dataset.unit === unit)); };

    async function keepIt(open = false) {
      const measures = unit === "V" ? "volts" : "resistance", found = open ? { open: true } : readTyped(input.value, measures, unit);
      if (!found) { wrong.textContent = t("Type what the meter shows, such as 4.7, or press: open."); return input.focus(); }
      const names = new Set(desk.job.records.filter(({ kind }) => kind === "reading").map((record) => record.name));
      let n = 1;
      while (names.has(`${name}-${n}`)) n++;
      const text = `reading ${name}-${n} ${name}.${next.red} ${name}.${next.black} ${found.open ? "open=yes" : `${measures}=${found.written}`}${measures === "resistance" && !found.open && Number(who().lead) > 0 ? ` lead=${who().lead}ohm` : ""} date=${today()}${by.value.trim() ? ` by=${quoted(by.value)}` : ""}${meter.value.trim() ? ` instrument=${quoted(meter.value)}` : ""}${moved.value.trim() ? ` did=${quoted(moved.value)}` : ""}`;
      try {
        if (await desk.edit([{ do: "add", text }], t("reading {n}", { n: `${name}-${n}` })) !== null) await weigh();
        place.querySelector("#shows")?.focus();
      } catch (error) {
        wrong.textContent = `${error.wrong ?? error} ${error.remedy ?? ""}`;
      }
    }
    return [make("h3", null, again ? t("Read again") : t("Next reading")), make("dl", { class: "leads" }, make("dt", null, t("Red lead")), make("dd", null, next.red), make("dt", null, t("Black lead")), make("dd", null, next.black)), make("p", null, next.do),
      make("label", { for: "shows" }, t("What the meter shows")), input, make("div", { class: "acts", role: "group", "aria-label": t("Unit") }, picks, button(t("open"), () => keepIt(true))), wrong,
      make("div", { class: "acts" }, button(t("Keep it"), () => keepIt(), { class: "main" }), button(t("Pass over"), () => { passed.add(key); weigh(); })),
      make("details", { open: !who().instrument }, make("summary", null, t("Meter, name, what was moved")), make("label", { for: "meter" }, t("Which meter")), meter, make("label", { for: "who" }, t("Who measures")), by, make("label", { for: "lead" }, t("Ohms of the leads held together")), lead, make("label", { for: "did" }, t("What was done meanwhile, such as: seat moved, pad warmed by hand")), moved)];
  }

  /** Pins take the place of those of their name; elements of unknown names are added. */
  async function apply(text) {
    const made = text.trim().replace(/\n[ \t]+/g, " ").split("\n").filter(Boolean);
    const edits = made.map((record) => {
      const [, kind, called] = /^(\S+)\s+(\S+)/.exec(record);
      const stands = desk.job.records.some((each) => each.kind === kind && each.name === called && !each.variant);
      return stands ? { do: "replace", record: { kind, name: called, variant: 0 }, text: record } : { do: "add", text: record };
    });
    try {
      if (await desk.edit(edits, t("what was found at {name}", { name })) !== null) await weigh();
    } catch (error) {
      desk.say(`${error.wrong ?? error} ${error.remedy ?? ""}`, { wrong: true });
    }
  }
  await weigh();
}

export const view = {
  name: "plug",
  title: later("Plug"),
  show(place, desk, detail) {
    dress();
    const plugs = plugsOf(desk);
    if (detail && plugs.some(({ name }) => name === detail) && detail !== part) { part = detail; agreed = false; }
    if (part && agreed && plugs.some(({ name }) => name === part)) return void session(place, desk);
    const choice = make("select", { id: "plug" }, plugs.map(({ name, text }) => make("option", { value: name, selected: name === part }, text ? `${name}: ${text}` : name)));
    const marked = make("p"), start = button(t("Begin measuring"), () => { part = choice.value; agreed = true; passed.clear(); session(refill(place), desk); }, { class: "main", disabled: true });
    const read = make("input", { type: "checkbox", id: "agree", onchange: () => { start.disabled = !read.checked || plugs.length === 0; } });
    const tell = () => { const pins = restrained(desk, choice.value); refill(marked, pins.length > 0 ? t("Marked in the sheet, left alone: {pins}.", { pins: pins.map(({ name }) => name).join(", ") }) : t("No cavity of it is marked as belonging to a restraint yet.")); };
    choice.addEventListener("change", tell);
    if (plugs.length > 0) tell();
    place.append(make("section", { class: "study" }, make("h2", null, t("What is behind these cavities?")),
      make("section", { class: "read", "aria-label": t("Read this first") }, make("h3", null, t("Read this first")), make("ul", null, cautions().map((words) => make("li", null, words))),
        make("label", { class: "tick" }, read, t("I have read this: battery off, plug apart, and no yellow plug or restraint circuit is measured"))),
      plugs.length === 0 ? make("p", { class: "notice" }, t("The sheet has no donor plug yet. Add a part of type assembly with face=rows x columns.")) : make("div", { class: "ask" }, make("div", null, make("label", { for: "plug" }, t("Which plug")), choice), start), marked));
  },
};
