// A use through time: strips of what happens, a time line, and the events in words.
import { button, ink, make, refill } from "./make.mjs";
import { dress, fileOf, watched } from "./study.mjs";
import { later, t } from "./words.mjs";

const WIDE = 1000, HIGH = 180, MOST = 5, STEP_MS = 900;
let course = null, timer = 0, now = 0;

const kinds = [
  { key: "bodies", title: later("Temperatures"), unit: "\u00b0C", of: (name, wires) => name.endsWith("_degC") && !wires.has(name.slice(0, -5)) },
  { key: "wires", title: later("Wires"), unit: "\u00b0C", of: (name, wires) => name.endsWith("_degC") && wires.has(name.slice(0, -5)) },
  { key: "amps", title: later("Currents"), unit: "A", of: (name) => name.endsWith("_A") },
  { key: "volts", title: later("Battery volts"), unit: "V", of: (name) => name.endsWith("_V") },
  { key: "charge", title: later("Battery charge"), unit: "%", of: (name) => name.endsWith("_charge"), factor: 100 },
];

/** Columns of numbers by name; a quoted heading may hold commas. */
function readSamples(text) {
  const [head, ...lines] = text.trim().split(/\r?\n/);
  const names = [...head.matchAll(/"((?:[^"]|"")*)"|([^,]+)/g)].map(([, quoted, plain]) => (quoted ?? plain).replaceAll('""', '"'));
  const columns = new Map(names.map((name) => [name, new Float64Array(lines.length)]));
  lines.forEach((line, i) => line.split(",").forEach((cell, c) => { columns.get(names[c])[i] = cell === "" ? NaN : Number(cell); }));
  return columns;
}

function clock(seconds) {
  const whole = Math.round(seconds), h = Math.floor(whole / 3600), m = Math.floor(whole / 60) % 60, s = String(whole % 60).padStart(2, "0");
  return h > 0 ? `${h}:${String(m).padStart(2, "0")}:${s} h` : `${m}:${s} min`;
}

/** The last sample not after `seconds`. */
function sampleAt(times, seconds) {
  let low = 0, high = times.length - 1;
  while (low < high) { const middle = (low + high + 1) >> 1; if (times[middle] <= seconds) low = middle; else high = middle - 1; }
  return low;
}

function stripOf(kind, curves, times, end) {
  const spread = curves.map(({ values }) => { let least = Infinity, most = -Infinity; for (const value of values) { if (value < least) least = value; if (value > most) most = value; } return [least, most]; });
  const order = curves.map((_, i) => i).sort((a, b) => (spread[b][1] - spread[b][0]) - (spread[a][1] - spread[a][0]));
  const on = new Set(order.slice(0, MOST));
  const svg = ink("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, preserveAspectRatio: "none", role: "img", "aria-label": t(kind.title) });
  const top = make("span"), low = make("span"), buttons = curves.map(({ name }, i) => button([ink("svg", { viewBox: "0 0 40 12", "aria-hidden": "true" }, ink("path", { d: "M0 6H40", class: `k${order.indexOf(i) % 6}` })), make("span", null, name)],
    () => { if (on.has(i)) on.delete(i); else on.add(i); draw(); }));
  const cursor = ink("line", { class: "now", y1: 0, y2: HIGH });

  function draw() {
    const seen = [...on];
    let least = Math.min(...seen.map((i) => spread[i][0])), most = Math.max(...seen.map((i) => spread[i][1]));
    if (!(most > least)) { least = (Number.isFinite(least) ? least : 0) - 0.5; most = least + 1; }
    const y = (value) => HIGH - 6 - ((value - least) / (most - least)) * (HIGH - 12), x = (seconds) => (seconds / end) * WIDE;
    const path = (values) => { let d = "", pen = "M"; for (let i = 0; i < values.length; i++) { if (Number.isNaN(values[i])) { pen = "M"; continue; } d += `${pen}${x(times[i]).toFixed(1)} ${y(values[i]).toFixed(1)}`; pen = "L"; } return d; };
    svg.replaceChildren(least < 0 && most > 0 ? ink("line", { class: "grid", x1: 0, x2: WIDE, y1: y(0), y2: y(0) }) : "", ...seen.map((i) => ink("path", { d: path(curves[i].values), class: `k${order.indexOf(i) % 6}` })), cursor);
    buttons.forEach((press, i) => press.setAttribute("aria-pressed", String(on.has(i))));
    const factor = kind.factor ?? 1;
    refill(top, `${Number((most * factor).toPrecision(3))} ${kind.unit}`);
    refill(low, `${Number((least * factor).toPrecision(3))} ${kind.unit}`);
  }
  draw();
  return {
    element: make("section", { class: "strip", "aria-label": t(kind.title) }, make("h3", null, t(kind.title)), make("div", { class: "scale" }, top), svg, make("div", { class: "scale" }, low, make("span", null, clock(end))), make("div", { class: "curves" }, buttons)),
    move(seconds, i) {
      cursor.setAttribute("x1", (seconds / end) * WIDE);
      cursor.setAttribute("x2", (seconds / end) * WIDE);
      curves.forEach(({ name, values }, c) => { buttons[c].lastChild.textContent = Number.isNaN(values[i]) ? name : `${name} ${Number((values[i] * (kind.factor ?? 1)).toPrecision(3))} ${kind.unit}`; });
    },
  };
}

function contactsOf(contacts, times, end) {
  const says = [], cursors = [];
  const rows = contacts.flatMap(({ name, values }) => {
    const bars = [];
    for (let i = 0, from = -1; i <= values.length; i++) {
      const closed = i < values.length && values[i] > 0.5;
      if (closed && from < 0) from = times[i];
      if (!closed && from >= 0) { const to = i < values.length ? times[i] : end; bars.push(ink("rect", { x: (from / end) * WIDE, width: Math.max(1, ((to - from) / end) * WIDE), y: 3, height: 12 })); from = -1; }
    }
    const cursor = ink("line", { class: "now", y1: 0, y2: 18 }), say = make("span");
    cursors.push(cursor);
    says.push(say);
    return [make("span", null, name), ink("svg", { viewBox: `0 0 ${WIDE} 18`, preserveAspectRatio: "none", role: "img", "aria-label": t("{name}: closed where the bar is", { name }) }, ink("line", { class: "base", x1: 0, x2: WIDE, y1: 16, y2: 16 }), bars, cursor), say];
  });
  return {
    element: make("section", { class: "strip bars", "aria-label": t("Contacts") }, make("h3", null, t("Contacts")), make("div", { class: "contacts" }, rows)),
    move(seconds, i) {
      for (const cursor of cursors) { cursor.setAttribute("x1", (seconds / end) * WIDE); cursor.setAttribute("x2", (seconds / end) * WIDE); }
      contacts.forEach(({ values }, c) => { says[c].textContent = values[i] > 0.5 ? t("closed") : t("open"); });
    },
  };
}

/** Events of one moment belong together. */
function momentsOf(events) {
  const moments = [];
  for (const { at, seconds, what } of events) { if (moments.at(-1)?.seconds === seconds) moments.at(-1).what.push(what); else moments.push({ at, seconds, what: [what] }); }
  return moments;
}

function drawCourse(out, desk) {
  const { report, samples, state, use } = course;
  const times = samples.get("time_s"), end = times.at(-1) || 1;
  const wires = new Set(desk.job.records.filter(({ kind }) => kind === "wire").map(({ name }) => name));
  const strips = kinds.map((kind) => [kind, [...samples].filter(([name]) => kind.of(name, wires)).map(([name, values]) => ({ name: name.replace(/_[A-Za-z]+$/, ""), values }))])
    .filter(([, curves]) => curves.length > 0).map(([kind, curves]) => stripOf(kind, curves, times, end));
  const contacts = [...samples].filter(([name]) => name.endsWith("_closed")).map(([name, values]) => ({ name: name.slice(0, -7), values }));
  if (contacts.length > 0) strips.splice(Math.min(3, strips.length), 0, contactsOf(contacts, times, end));
  const moments = momentsOf(report.tables.events ?? []);
  const line = make("input", { type: "range", min: "0", max: String(end), step: String(Math.max(0.1, end / 2000)), "aria-label": t("Time"), oninput: () => { stop(); move(Number(line.value)); } });
  const told = make("output", { role: "status" }), list = make("ol", { class: "events" });
  const play = button("", () => { if (timer) stop(); else start(); }, { class: "main" });
  const near = () => { let at = -1; while (at + 1 < moments.length && moments[at + 1].seconds <= now + 1e-6) at++; return at; };
  const jump = (way) => { stop(); const at = near() + way; if (moments[at]) move(moments[at].seconds); };

  function move(seconds) {
    now = Math.max(0, Math.min(end, seconds));
    const i = sampleAt(times, now), at = near();
    for (const strip of strips) strip.move(now, i);
    line.value = String(now);
    line.setAttribute("aria-valuetext", clock(now));
    refill(told, `${clock(now)}: ${moments[at] ? moments[at].what.join("; ") : t("nothing yet")}`);
    const first = Math.max(0, Math.min(at - 2, moments.length - 6));
    refill(list, moments.slice(first, first + 6).map((moment, m) => make("li", { "aria-current": first + m === at ? "step" : null }, button([make("time", null, moment.at), make("span", null, moment.what.join("; "))], () => { stop(); move(moment.seconds); }))));
  }
  function stop() { clearInterval(timer); timer = 0; refill(play, t("Play")); }
  function start() {
    if (near() + 1 >= moments.length) move(0);
    refill(play, t("Hold"));
    timer = setInterval(() => { const next = moments[near() + 1]; if (next && line.isConnected) move(next.seconds); else stop(); }, STEP_MS);
  }

  refill(out, make("p", { class: "verdict" }, report.verdict), course.edition !== desk.job.edition ? make("p", { class: "notice" }, t("The sheet has changed since: run it again.")) : null,
    strips.map(({ element }) => element),
    make("div", { class: "timeline" }, told, line, make("div", { class: "acts" }, play, button(t("Earlier event"), () => jump(-1)), button(t("Later event"), () => jump(1)))), list,
    make("div", { class: "acts" }, make("span", null, t("Save")), (state.files ?? []).filter((name) => /^course(-\d+)?\.(csv|pdf|svg|png)$/.test(name)).map((name) => make("a", { class: "press", href: fileOf(state, name), download: `${use}-${name}` }, name))),
    make("details", null, make("summary", null, t("On what this rests")), (report.notes ?? []).filter((note) => !/^course[-\d]*\.\w+$/.test(note)).map((note) => make("p", null, note))));
  stop();
  move(Math.min(now, end));
}

export const view = {
  name: "course",
  title: later("Course"),
  show(place, desk, detail) {
    dress();
    const uses = desk.job.records.filter(({ kind, variant }) => kind === "use" && !variant);
    const choice = make("select", { id: "use" }, uses.map(({ name, text }) => make("option", { value: name, selected: name === (detail || course?.use) }, text ? `${name}: ${text}` : name)));
    const ways = make("select", { id: "course-way" }, make("option", { value: "" }, t("as it stands")), desk.job.variants.map((name) => make("option", { value: name }, name)));
    const watch = make("div", { class: "watched", "aria-live": "polite" }), out = make("div", { class: "strips" });
    const run = button(t("Run it"), begin, { class: "main", disabled: uses.length === 0 });

    async function begin() {
      run.disabled = true;
      const use = choice.value, edition = desk.job.edition;
      const state = await watched(watch, { verb: "simulate", use, ...(ways.value ? { variant: ways.value } : {}) }, t("Running {use} …", { use }));
      run.disabled = false;
      if (!state) return;
      try {
        course = { use, edition, state, report: state.report, samples: readSamples(await desk.askText(fileOf(state, "course.csv"))) };
        now = 0;
      } catch (error) {
        return void refill(watch, make("p", { class: "error" }, `${error.wrong ?? error} ${error.remedy ?? ""}`));
      }
      if (place.contains(out)) drawCourse(out, desk);
    }

    place.append(make("section", { class: "study" }, make("h2", null, t("A use through time")),
      make("p", null, t("What the sheet calls a use is run: circuit, heat and batteries together. Strips show what comes of it; the time line tells it in words.")),
      uses.length === 0 ? make("p", { class: "notice" }, t("The sheet has no use yet. Add one: how long it lasts, and steps that say what is switched when.")) : null,
      make("div", { class: "ask" }, make("div", null, make("label", { for: "use" }, t("Which use")), choice), desk.job.variants.length > 0 ? make("div", null, make("label", { for: "course-way" }, t("Which way")), ways) : null, run),
      desk.fault ? make("p", null, t("The fault that is put into the diagram does not take part: a course is run as the sheet stands.")) : null, watch, out));
    if (course) drawCourse(out, desk);
  },
  leave() { clearInterval(timer); timer = 0; },
};
