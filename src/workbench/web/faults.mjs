// The table of the fault campaign: every single fault, filtered by cause, severity and place, and from a row into the diagram.
import { button, make, refill } from "./make.mjs";
import { dress, watched } from "./study.mjs";
import { degrees, figure, later, t } from "./words.mjs";

const GRADES = ["danger", "fault", "caution", "known", "none"], FIRST = 60;
let campaign = null, picks = { grade: "", manner: "", spot: "", text: "" }, order = { by: "grade", down: false }, shown = FIRST;

const rank = (grade) => { const at = GRADES.indexOf(grade); return at < 0 ? GRADES.length : at; };
const columns = [
  { key: "grade", title: later("Severity"), value: (row) => rank(row.severity) }, { key: "fault", title: later("Fault"), value: (row) => row.fault },
  { key: "effect", title: later("What comes of it"), value: (row) => row.effect }, { key: "short", title: later("Current"), value: (row) => -(row.short_A ?? -1) },
  { key: "cleared", title: later("Opens after"), value: (row) => row.cleared_s ?? Infinity }, { key: "hottest", title: later("Hottest wire"), value: (row) => -(row.reached_degC ?? -1e3) },
  { key: "driver", title: later("Driver"), value: (row) => row.driver }, { key: "state", title: later("In state"), value: (row) => row.state },
];

/** Things by name, with where each sits. */
function thingsOf(desk) {
  const things = new Map(), spots = new Map();
  const records = desk.job.records.filter(({ variant }) => !variant);
  for (const { kind, name, values } of records) if (kind === "part") { things.set(name, "part"); spots.set(name, [values.at].filter(Boolean)); }
  const spotOf = (dotted) => spots.get(dotted.split(".")[0]) ?? [];
  for (const name of Object.keys(desk.live?.elements ?? {})) { things.set(name, "element"); spots.set(name, spotOf(name)); }
  for (const { kind, name, values } of records) {
    if (kind === "pin" || kind === "element") { things.set(name, kind); spots.set(name, spotOf(name)); }
    if (kind === "wire") {
      things.set(name, "wire");
      for (const pin of [values.from, values.to]) if (!things.has(pin)) { things.set(pin, "pin"); spots.set(pin, spotOf(pin)); }
      spots.set(name, [...new Set([...spotOf(values.from), ...spotOf(values.to)])]);
    }
  }
  for (const name of Object.keys(desk.live?.pins ?? {})) if (!things.has(name)) { things.set(name, "pin"); spots.set(name, spotOf(name)); }
  return { things, spots };
}

/** What is at fault, what happens to it with the names and figures taken out, and where. */
function sort(report, desk) {
  const { things, spots } = thingsOf(desk);
  return report.tables["every-fault"].map((row) => {
    const words = row.fault.split(/\s+/), names = words.map((word) => word.replace(/[,;:]$/, "")).filter((word) => things.has(word));
    const manner = words.filter((word) => !things.has(word.replace(/[,;:]$/, "")) && !/^[\d.,]+$/.test(word) && !/^m?A$/.test(word)).join(" ").replace(/\s+(at|of|and|an|von|und)$/, "").replace(/[,;:]+(?=\s|$)/g, "");
    return { ...row, severity: GRADES.find((grade) => [grade, t(grade)].includes(row.severity)), names: names.map((name) => ({ name, kind: things.get(name) })), manner, spots: [...new Set(names.flatMap((name) => spots.get(name) ?? []))] };
  });
}

/** The key by which the fault is put in: asked of each thing that its words name. */
async function keyOf(row, desk) {
  for (const of of row.names)
    for (const kind of new Set([of.kind, "element", "part", "pin", "wire"])) {
      let answer;
      try { answer = await desk.ask(`/faults/of?${new URLSearchParams({ kind, name: of.name })}`); } catch (error) { if (error.status === 0) throw error; continue; }
      const found = answer.faults.find(({ words }) => words === row.fault);
      if (found) return { key: found.key, of: { kind, name: of.name } };
    }
  return null;
}

async function putIn(row, desk) {
  try {
    const found = await keyOf(row, desk);
    if (!found) return desk.say(t("The sheet has changed: {fault} is no longer among its faults. Run the table again.", row), { wrong: true });
    desk.hands = {};
    for (const setting of row.state.split(/\s+/)) {
      const [input, position] = setting.split("=");
      const known = desk.job.inputs.find(({ name }) => name === input);
      if (known?.positions.includes(position) && position !== known.positions[0]) desk.hands[input] = position;
    }
    desk.tell?.("hands");
    await desk.putFault(found.key, found.of);
    desk.go("diagram", `${found.of.kind}/${found.of.name}`);
    desk.say(t("Put in: {fault}", row));
  } catch (error) {
    desk.say(`${error.wrong ?? error} ${error.remedy ?? ""}`, { wrong: true });
  }
}

const fits = (row) => (!picks.grade || row.severity === picks.grade) && (!picks.manner || row.manner === picks.manner) && (!picks.spot || row.spots.includes(picks.spot)) &&
  (!picks.text || `${row.fault} ${row.effect} ${row.cleared_by}`.toLowerCase().includes(picks.text.toLowerCase()));

function sorted(rows) {
  const { value } = columns.find(({ key }) => key === order.by);
  const turn = order.down ? -1 : 1;
  return rows.map((row, i) => [value(row), i, row]).sort((a, b) => (a[0] < b[0] ? -turn : a[0] > b[0] ? turn : a[1] - b[1])).map(([, , row]) => row);
}

function line(row, desk) {
  return make("tr", null, make("td", null, make("span", { class: `sev ${row.severity}` }, t(row.severity))), make("td", null, button(row.fault, () => putIn(row, desk), { class: "link", "aria-label": t("Put in: {fault}", row) })),
    make("td", { class: "effect" }, row.effect), make("td", { class: "number" }, row.short_A === null ? "" : figure(row.short_A, "A")),
    make("td", { class: "number" }, row.cleared_s === null || row.cleared_s === undefined ? "" : row.cleared_s < 0.9995 ? `${Number((row.cleared_s * 1000).toPrecision(2))} ms` : `${Number(row.cleared_s.toPrecision(3))} s`, row.cleared_by ? ` ${row.cleared_by}` : ""),
    make("td", { class: "number" }, row.hottest ? `${row.hottest} ${degrees(row.reached_degC)}` : ""), make("td", { class: "driver" }, row.driver), make("td", { class: "state" }, row.state));
}

export const view = {
  name: "faults",
  title: later("Faults"),
  show(place, desk) {
    dress();
    const course = make("div", { class: "watched", "aria-live": "polite" }), out = make("div", null);
    const run = button(t("Try every fault"), begin, { class: "main" });

    async function begin() {
      run.disabled = true;
      const edition = desk.job.edition;
      const state = await watched(course, { verb: "faults" }, t("Trying every fault in every state …"));
      run.disabled = false;
      if (!state || state.stopped) return;
      campaign = { edition, report: state.report, rows: sort(state.report, desk) };
      shown = FIRST;
      if (place.contains(out)) draw();
    }

    const pick = (id, words, options) => make("div", null, make("label", { for: id }, words), make("select", { id, onchange: (event) => { picks[id.slice(7)] = event.target.value; shown = FIRST; table(); } },
      [make("option", { value: "" }, t("all")), options.map(([value, n, said]) => make("option", { value, selected: picks[id.slice(7)] === value }, `${said ?? value} (${n})`))]));
    const counts = (list) => [...list.reduce((sums, each) => sums.set(each, (sums.get(each) ?? 0) + 1), new Map())];

    const told = make("p", { role: "status" }), wide = make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": t("Faults") }), more = make("div", null);
    function table() {
      const rows = sorted(campaign.rows.filter(fits));
      refill(told, t("{n} of {all} faults. Press a fault: it is put into the diagram, in the state in which it is worst.", { n: rows.length, all: campaign.rows.length }));
      refill(wide, make("table", null, make("thead", null, make("tr", null, columns.map(({ key, title }) => make("th", { scope: "col", class: key, "aria-sort": order.by === key ? (order.down ? "descending" : "ascending") : null },
        button(`${t(title)}${order.by === key ? (order.down ? " \u25BE" : " \u25B4") : ""}`, () => { order = { by: key, down: order.by === key && !order.down }; table(); wide.querySelector(`th.${key} button`)?.focus(); }))))),
      make("tbody", null, rows.slice(0, shown).map((row) => line(row, desk)))));
      refill(more, rows.length > shown ? button(t("Show {n} more", { n: Math.min(300, rows.length - shown) }), () => { shown += 300; table(); }) : null);
    }

    function draw() {
      if (!campaign) return refill(out);
      const { report, rows, edition } = campaign;
      const remedies = (report.tables.faults ?? []).filter(({ remedy }) => remedy);
      refill(out, make("p", { class: "verdict" }, report.verdict), edition !== desk.job.edition ? make("p", { class: "notice" }, t("The sheet has changed since: try again.")) : null,
        make("div", { class: "ask" }, pick("faults-grade", t("Severity"), counts(rows.map((row) => row.severity)).sort((a, b) => rank(a[0]) - rank(b[0])).map(([grade, n]) => [grade, n, t(grade)])),
          pick("faults-manner", t("Cause"), counts(rows.map((row) => row.manner)).sort((a, b) => b[1] - a[1])), pick("faults-spot", t("Place"), counts(rows.flatMap((row) => row.spots)).sort()),
          make("div", null, make("label", { for: "faults-text" }, t("Holds the word")), make("input", { id: "faults-text", value: picks.text, oninput: (event) => { picks.text = event.target.value; shown = FIRST; table(); } }))),
        told, wide, more,
        remedies.length > 0 ? make("details", null, make("summary", null, t("Remedies that were tried and hold")), make("ul", null, remedies.map((row) => make("li", null, make("strong", null, row.cause), ` ${row.remedy}`)))) : null,
        make("details", null, make("summary", null, t("On what this rests")), (report.notes ?? []).map((note) => make("p", null, note))));
      table();
    }

    place.append(make("section", { class: "study" }, make("h2", null, t("What if something breaks?")),
      make("p", null, t("Each wire open, to the body and to a live neighbour; grounds lost; contacts welded; sensors and loads open or shorted; fuses replaced by larger ones: what opens, what gets how hot, what stops.")),
      make("div", { class: "acts" }, run), course, out));
    draw();
  },
};
