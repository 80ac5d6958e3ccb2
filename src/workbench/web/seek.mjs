// The search for a fault: what does not run, then the next measurement, until one suspect is left.
import { keep, recall } from "./kept.mjs";
import { button, make, refill } from "./make.mjs";
import { readTyped, units } from "./measure.mjs";
import { study } from "./study.mjs";
import { t } from "./words.mjs";

const STORE = "loomgraft phone search";
let search = recall(STORE, null), answer = null, asked = "", busy = null, wrong = "";

const save = () => keep(STORE, search);

/** What the words of a proposal name: pins, a load, the state; they are names and stay so in every language. */
function proposal(rows, names) {
  const [{ do: words }] = rows;
  const found = words.split(/[\s,;()]+/).map((word) => word.replace(/[.:]$/, ""));
  const when = found.filter((word) => /^[^=\s]+=[^=\s]+$/.test(word));
  const pins = found.filter((word) => names.pins.has(word));
  const outcomes = rows.map((row) => row.if).join(" ");
  if (pins.length >= 2) return { words, rows, kind: /\b[kM]?ohm\b|\u03a9/.test(outcomes) ? "resistance" : "volts", red: pins[0], black: pins[1], when };
  return { words, rows, kind: "runs", load: found.find((word) => names.loads.has(word)), when };
}

/** Proposals, best first, each with what its outcomes mean. */
function proposals(table, names) {
  const lists = [];
  for (const row of table ?? []) { if (row.do) lists.push([row]); else lists.at(-1)?.push(row); }
  return lists.map((rows) => proposal(rows, names)).filter(({ kind, load }) => kind !== "runs" || load);
}

function namesOf(job, report) {
  const words = JSON.stringify(report).match(/[\p{L}\p{N}_+-]+\.[\p{L}\p{N}_+-]+/gu) ?? [];
  const parts = new Set(job.records.filter(({ kind }) => kind === "part").map(({ name }) => name));
  const dotted = new Set(words.filter((word) => parts.has(word.split(".")[0])));
  const elements = new Set(job.records.filter(({ kind }) => kind === "element").map(({ name }) => name));
  return { pins: new Set([...dotted].filter((name) => !elements.has(name))), loads: new Set([...parts, ...elements, ...dotted]) };
}

const tail = (when) => (when.length > 0 ? ` when ${when.join(" ")}` : "");

/** `of`: {place, foot, heading, job, back, loads}. Where the sheet holds readings of the built job there is no list of symptoms; then `loads`. */
export function seek(of) {
  const { place, foot, heading, job, back } = of;
  if (search?.file !== job.file) search = { file: job.file, readings: [], by: 0 };
  const draw = () => seek(of);
  const readings = search.readings, key = JSON.stringify(readings);
  const again = button(t("Begin anew"), () => { search = { file: job.file, readings: [], by: 0 }; save(); answer = null; asked = ""; draw(); });

  if (asked !== key && !busy) {
    busy = new AbortController();
    wrong = "";
    study({ verb: "locate", readings: readings.map(({ text }) => text) }, { signal: busy.signal })
      .then((state) => { answer = state.report; asked = key; }, (error) => { wrong = `${error.wrong ?? error} ${error.remedy ?? ""}`; answer = null; asked = key; })
      .finally(() => { busy = null; if (place.querySelector("[data-search]")) draw(); });
  }
  if (asked !== key) {
    refill(place, heading(t("Find a fault")), make("p", { "data-search": "" }, t("The computer weighs what was seen …")));
    return foot(button(t("Back"), back));
  }
  if (!answer) {
    refill(place, heading(t("Find a fault")), make("p", { class: "error", "data-search": "" }, wrong),
      make("p", null, t("What was seen so far is kept.")), readings.length > 0 ? button(t("Take back the last"), () => { readings.pop(); save(); draw(); }) : null, again);
    return foot(button(t("Back"), back), button(t("Ask again"), () => { asked = ""; draw(); }, { class: "main" }));
  }

  const add = (text, words) => { search.readings = [...readings, { text, words }]; search.by = 0; save(); draw(); scrollTo(0, 0); };
  const cautions = make("details", null, make("summary", null, t("Cautions first")), make("ul", { class: "caution" }, (answer.notes ?? []).map((note) => make("li", null, note))));
  if (readings.length === 0) {
    const symptoms = answer.tables.symptoms ?? of.loads;
    refill(place, heading(t("What does not run?")), make("p", { class: "caution", "data-search": "" }, (answer.notes ?? [])[2] ?? ""), cautions,
      make("div", { class: "list" }, symptoms.map(({ symptom, state }) => button([make("span", null, symptom), make("small", null, t("with {state}", { state }))],
        () => add(`${symptom} runs=no${tail(state.match(/[^\s,]+=[^\s,;]+/g) ?? [])}`, t("{symptom} does not run, with {state}", { symptom, state })), { class: "row" }))), symptoms.length === 0 ? make("p", null, t("There is nothing here that runs.")) : null);
    return foot(button(t("Back"), back));
  }

  const list = proposals(answer.tables.next, namesOf(job, answer)), next = list[search.by % Math.max(1, list.length)];
  const suspects = (answer.tables.suspects ?? []).slice(0, 5);
  refill(place, make("p", { class: "stage", "data-search": "" }, answer.verdict), next ? heading(t("Next: {words}", next)) : heading(t("Nothing more that tells")));
  let press = null;
  if (next?.kind === "runs") {
    const say = (word, words) => button(words, () => add(`${next.load} runs=${word}${tail(next.when)}`, `${next.load}: ${words}`), { class: "main" });
    place.append(make("div", { class: "list" }, say("yes", t("It runs")), say("weak", t("It runs weakly")), say("no", t("It does not run"))));
  } else if (next) {
    let unit = units[next.kind][0][1];
    const input = make("input", { id: "value", class: "big", inputmode: "decimal", autocomplete: "off", onkeydown: (event) => { if (event.key === "Enter") press(); } }), error = make("p", { class: "error" });
    const picks = units[next.kind].map(([shown, word]) => button(shown, () => { unit = word; mark(); }, { "data-unit": word }));
    const mark = () => { for (const pick of picks) pick.setAttribute("aria-pressed", String(pick.dataset.unit === unit)); };
    mark();
    press = () => {
      const found = readTyped(input.value, next.kind, unit);
      if (!found) { error.textContent = t("That is no reading: type figures, such as 12.4."); return input.focus(); }
      add(`${next.red} ${next.black} ${found.open ? "ohms=open" : `${next.kind === "resistance" ? "ohms" : "volts"}=${found.written}`}${tail(next.when)}`, `${next.red} \u2013 ${next.black}: ${found.open ? t("open") : found.written}`);
    };
    place.append(make("dl", { class: "leads" }, make("dt", null, t("Red lead")), make("dd", null, next.red), make("dt", null, t("Black lead")), make("dd", null, next.black), next.when.length > 0 ? [make("dt", null, t("Set")), make("dd", { class: "words" }, next.when.join("  "))] : null),
      make("label", { for: "value" }, t("What the meter shows")), input, make("div", { class: "units", role: "group", "aria-label": t("Unit") }, picks,
        next.kind === "resistance" ? button(t("open"), () => { input.value = "open"; }) : button("+/\u2212", () => { input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`; }, { "aria-label": t("Turn the sign") })), error);
  }
  place.append(
    next ? make("details", null, make("summary", null, t("What each outcome means")), make("table", null, next.rows.map((row) => make("tr", null, make("th", { scope: "row" }, row.if), make("td", null, row.then))))) : "",
    make("h3", null, t("Suspects")), make("table", null, suspects.map(({ suspect, chance }) => make("tr", null, make("td", null, suspect), make("td", null, `${Math.round(chance * 100)} %`)))),
    make("h3", null, t("Seen so far")), make("ol", { class: "list" }, readings.map(({ words }) => make("li", null, words))), button(t("Take back the last"), () => { readings.pop(); save(); draw(); }), again, cautions);
  foot(button(t("Back"), back), list.length > 1 ? button(t("Cannot reach it: another"), () => { search.by++; save(); draw(); }) : null, press ? button(t("Weigh it"), press, { class: "main" }) : null);
}
