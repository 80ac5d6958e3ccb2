// Under the dash: test sheets one step at a time, and the search for a fault. All that is entered is kept on the phone first.
import { ask } from "./ask.mjs";
import { beginKept, conflicts, enter, entryOf, isSending, keep, others, recall, refused, settle, takeJob, trouble, waiting } from "./kept.mjs";
import { button, make, refill } from "./make.mjs";
import { asks, judge, nameFor, readingText, readTyped, tickText, today, units } from "./measure.mjs";
import { seek } from "./seek.mjs";
import { later, t } from "./words.mjs";

const SHEETS = [["pre-power", "pp", later("Before first power")], ["first-power", "fp", later("First power, circuit by circuit")], ["readings", "er", later("Readings in use")]];
const CASH = "loomgraft phone sheets", WHO = "loomgraft phone who", WHERE = "loomgraft phone where";
const place = document.getElementById("place"), acts = document.getElementById("acts"), sends = document.getElementById("sends");
let job = null, sheets = {}, steps = {}, shown = "start", at = 0, who = recall(WHO, { by: "", instrument: "", lead: null }), reached = false, keepable = true, offlineStart = false;

// --- What is known: from the computer, else what was kept of it ---------------------------------------------------

function takeSheets() {
  for (const [key, prefix] of SHEETS) {
    const table = sheets[key], seen = new Map();
    if (!table?.steps) { steps[key] = []; continue; }
    const column = (row, name) => { const index = table.columns.findIndex((each) => each.key === name); return index < 0 ? "" : row[index]; };
    steps[key] = table.rows.map((row, i) => {
      const step = { ...table.steps[i], row: Object.fromEntries(table.columns.map((each, c) => [each.key, row[c]])), stage: column(row, "stage") || column(row, "state") || column(row, "circuit") };
      const said = [key, step.stage, step.red, step.black, step.measures, step.when, ...["from", "to", "check", "where", "fuses", "set"].map((name) => column(row, name))].join("|");
      const times = (seen.get(said) ?? 0) + 1;
      seen.set(said, times);
      return { ...step, name: nameFor(prefix, times > 1 ? `${said}|${times}` : said), what: column(row, "check") || column(row, "where") || column(row, "watch") };
    });
  }
}

async function fetchAll() {
  const [latest, ...tables] = await Promise.all(["/job", ...SHEETS.map(([key]) => `/tables/${key}`)].map((path) => ask(path, { signal: AbortSignal.timeout(20000) }).catch((error) => error)));
  if (latest instanceof Error) throw latest;
  job = latest;
  SHEETS.forEach(([key], i) => { if (tables[i] instanceof Error) sheets[key] ??= null; else sheets[key] = tables[i]; });
  keepable = keep(CASH, { job: { file: job.file, title: job.title, edition: job.edition, inputs: job.inputs, records: job.records.filter(({ kind }) => ["reading", "tick", "part", "pin", "element"].includes(kind)).map(({ kind, name, variant, text, source, values }) => ({ kind, name, variant, text, values, source: kind === "reading" || kind === "tick" ? source : "" })) }, sheets }) && keepable;
}

async function refresh() {
  try {
    await fetchAll();
    reached = true;
  } catch (error) {
    reached = false;
    if (error.status === 401 || error.status === 403) return void (location.href = "/join");
    return;
  }
  takeSheets();
  takeJob(job.file);
  document.getElementById("title").textContent = job.title || t("Under the dash");
}

/** Waits for news, so that what others wrote is seen; silent when the computer is away. */
async function listen() {
  for (let serial = 0, pause = 1000; ;) {
    try {
      const news = await ask(`/news?after=${serial}`, { signal: AbortSignal.timeout(40000) });
      serial = news.serial;
      pause = 1000;
      if (!reached || news.edition !== job?.edition || (news.ready === news.edition && SHEETS.some(([key]) => !sheets[key]))) { const first = job === null; await refresh(); redraw(first); }
    } catch {
      reached = false;
      tellSends();
      await new Promise((settled) => setTimeout(settled, pause));
      pause = Math.min(pause * 2, 10000);
    }
  }
}
const typing = () => document.activeElement?.matches("input, select") ?? false;
/** Not under the fingers of somebody who is at a step. */
function redraw(first) { if (first || (!typing() && shown !== "seek" && !SHEETS.some(([key]) => key === shown))) draw(); else tellSends(); }

// --- What stands: entered here, or in the sheet already -----------------------------------------------------------

function standing(step) {
  const entry = entryOf(step.name);
  const record = job?.records.find(({ kind, name, variant }) => (kind === "reading" || kind === "tick") && name === step.name && !variant);
  if (entry && (entry.state !== "sent" || !record)) return { grade: entry.grade, value: entry.value, state: entry.state, entry, record };
  if (!record) return null;
  const { values } = record;
  const value = values.open === "yes" ? t("open") : values[step.measures] ?? values.found ?? "";
  const found = step.measures && value ? readTyped(value, step.measures, "") ?? (value === t("open") ? { open: true } : null) : null;
  return { grade: values.result === "bad" ? "bad" : found ? judge(step, found, Number.parseFloat(values.lead) || 0).grade : "good", value, state: "sent", entry: null, record };
}
const marks = { good: "\u2713", bad: "\u2715", noted: "\u2013" };
const done = (key) => steps[key].filter((step) => standing(step)).length;

function tellSends() {
  const asked = conflicts().length + refused().length, waits = waiting().length, elsewhere = others();
  let words;
  if (!keepable) words = t("This phone has no room to keep entries: write them on paper too.");
  else if (asked > 0) words = asked === 1 ? t("1 entry asks for your decision.") : t("{n} entries ask for your decision.", { n: asked });
  else if (waits > 0 && isSending() && reached) words = t("Sending {n} …", { n: waits });
  else if (waits > 0) words = `${waits === 1 ? t("1 entry is kept on this phone and goes to the computer when it answers.") : t("{n} entries are kept on this phone and go to the computer when it answers.", { n: waits })}${trouble()?.status === 401 || trouble()?.status === 403 ? ` ${t("This phone was shut out: join again.")}` : ""}`;
  else if (!reached) words = t("The computer does not answer. Go on: entries are kept on this phone.");
  else words = t("All entries are in the sheet.");
  if (elsewhere.length > 0) words += ` ${t("{n} for {file} wait until that sheet is open.", { n: elsewhere.length, file: elsewhere[0].file })}`;
  sends.className = asked > 0 || !keepable ? "asks" : waits > 0 || !reached ? "waits" : "";
  if (sends.textContent !== words) sends.textContent = words;
}

// --- Screens ------------------------------------------------------------------------------------------------------

function go(screen, step = 0) {
  shown = screen;
  at = step;
  keep(WHERE, { shown, at });
  draw();
  scrollTo(0, 0);
  place.querySelector("h2")?.focus({ preventScroll: true });
}
const heading = (words) => make("h2", { tabindex: "-1" }, words);
const foot = (...buttons) => refill(acts, buttons);

function field(id, words, value, heed, more = {}) {
  return make("div", null, make("label", { for: id }, words), make("input", { id, value, oninput: (event) => heed(event.target.value), autocomplete: "off", ...more }));
}
const keepWho = (news) => { who = { ...who, ...news }; keep(WHO, who); };

function start() {
  const open = conflicts().concat(refused());
  refill(place, heading(t("What do you do?")),
    make("p", { class: "caution" }, t("Yellow plugs and what may belong to an airbag or belt: no meter, no lamp, no supply. Ohms only with the battery off.")),
    open.length > 0 ? button(t("Decide about {n}", { n: open.length }), () => go("decide"), { class: "main" }) : null,
    make("div", { class: "list" }, SHEETS.map(([key, , title]) => button([make("span", null, t(title)), make("small", null, steps[key]?.length > 0 ? t("{done} of {all}", { done: done(key), all: steps[key].length }) : t("not ready yet"))], () => done(key) > 0 ? go(key, Math.max(0, steps[key].findIndex((step) => !standing(step)))) : go(`${key} list`), { class: "row", disabled: !(steps[key]?.length > 0) })),
      button([make("span", null, t("Find a fault")), make("small", null, t("asks what to measure"))], () => go("seek"), { class: "row" })),
    field("by", t("Who measures"), who.by, (by) => keepWho({ by }), { maxlength: 60 }), field("instrument", t("Which meter"), who.instrument, (instrument) => keepWho({ instrument }), { maxlength: 60 }),
    make("p", { class: "soft" }, isSecureContext && "serviceWorker" in navigator ? t("Once loaded, this page starts without the computer, too. Entries are kept on this phone until they are in the sheet.")
      : t("This is plain http: the phone keeps your entries, but cannot open this page anew while the computer is away. Leave it open: locking the screen is no harm.")));
  foot();
}

function list(key) {
  let stage = null;
  refill(place, heading(t(SHEETS.find(([each]) => each === key)[2])), make("p", { class: "caution" }, sheets[key].note),
    make("ol", { class: "list" }, steps[key].map((step, i) => {
      const stands = standing(step), first = step.stage !== stage;
      stage = step.stage;
      return [first ? make("li", { class: "stage" }, stage) : null, make("li", null, button([make("span", null, `${i + 1}. ${step.what || step.row.circuit}${step.red ? `: ${step.red} \u2013 ${step.black}` : ""}`), make("small", null, stands ? `${marks[stands.grade ?? "good"]} ${stands.value || t("done")}` : t("to do"))], () => go(key, i), { class: "row" }))];
    })));
  foot(button(t("Back"), () => go("start")), button(t("Go on"), () => go(key, Math.max(0, steps[key].findIndex((step) => !standing(step)))), { class: "main" }));
}

const row = (name, words, plain) => words ? [make("dt", null, name), make("dd", plain ? { class: "words" } : null, words)] : null;

function told(step) {
  const { row: cells } = step;
  return make("dl", { class: "leads" }, row(t("Red lead"), step.red || cells.from), row(t("Black lead"), step.black || cells.to), row(t("Fuses in"), cells.fuses, true), row(t("Set"), cells.set || (cells.state && step.when ? cells.state : ""), true), row(t("Limit"), cells.limit),
    row(t("Meter"), cells.meter, true), row(t("Expect"), cells.unit ? `${cells.expected} ${cells.unit} (${cells.least} \u2013 ${cells.most})` : cells.expected, true), cells.circuit ? row(t("Watch"), cells.watch, true) : null);
}

const isLeads = (step) => step.measures === "resistance" && !step.red && !step.open;

function put(key, step, news) {
  const words = [t(SHEETS.find(([each]) => each === key)[2]), step.what || step.row.circuit].join(": ");
  const common = { name: step.name, by: who.by, instrument: who.instrument, date: today(), words };
  const pinned = Boolean(step.measures && step.red && step.black && news.found);
  const text = pinned ? readingText({ ...common, step, found: news.found, lead: step.measures === "resistance" ? who.lead : null })
    : tickText({ ...common, good: news.grade !== "bad", found: news.value });
  if (isLeads(step) && news.found && !news.found.open) keepWho({ lead: news.found.value });
  keepable = enter({ name: step.name, kind: pinned ? "reading" : "tick", file: job.file, edition: job.edition, step: step.name, value: news.value, grade: news.grade, text, what: `${pinned ? "reading" : "tick"} ${step.name}` }, standing(step)?.record?.source);
  go(at + 1 < steps[key].length ? key : `${key} list`, at + 1 < steps[key].length ? at + 1 : 0);
}

function typed(key, step, stands) {
  let unit = units[step.measures].at(0)[1], found = null;
  const wanted = step.high ?? step.low;
  if (wanted && step.measures !== "volts") unit = [...units[step.measures]].reverse().find((each) => wanted >= each[2])?.[1] ?? (step.measures === "current" ? "mA" : "ohm");
  const verdict = make("p", { role: "status" }), wrong = make("p", { class: "error" });
  const input = make("input", { id: "value", class: "big", inputmode: "decimal", autocomplete: "off", enterkeyhint: "done", oninput: read, onkeydown: (event) => { if (event.key === "Enter") press(); } });
  const picks = units[step.measures].map(([shownAs, word]) => button(shownAs, () => { unit = word; read(); }, { "data-unit": word }));
  function read() {
    for (const pick of picks) pick.setAttribute("aria-pressed", String(pick.dataset.unit === unit));
    found = input.value.trim() ? readTyped(input.value, step.measures, unit) : null;
    wrong.textContent = input.value.trim() && !found ? t("That is no reading: type figures, such as 12.4.") : "";
    const judged = found ? judge(step, found, isLeads(step) ? 0 : who.lead ?? 0.2) : null;
    verdict.className = judged ? `judged ${judged.grade}` : "";
    verdict.textContent = judged?.words ?? "";
    return judged;
  }
  const press = () => { const judged = read(); if (judged) put(key, step, { found, value: found.open ? "open" : found.written, grade: judged.grade }); else { wrong.textContent = t("Type what the meter shows, or pass over this step."); input.focus(); } };
  const body = make("div", { class: "list" }, make("label", { for: "value" }, t("What the meter shows, in {unit}", { unit: t(asks[step.measures]) })), input,
    make("div", { class: "units", role: "group", "aria-label": t("Unit") }, picks, step.measures === "resistance" ? button(t("open"), () => { input.value = "open"; read(); }) : button("+/\u2212", () => { input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`; read(); input.focus(); }, { "aria-label": t("Turn the sign") })), verdict, wrong);
  if (stands?.value) input.value = stands.value;
  read();
  return { body, press };
}

function seen(key, step, stands) {
  const note = make("input", { id: "found", value: stands?.value ?? "", autocomplete: "off", maxlength: 120 });
  const say = (grade) => put(key, step, { grade, value: note.value.trim() });
  return { body: make("div", { class: "list" }, make("label", { for: "found" }, t("What you saw, if it matters")), note, button(t("✕ Not as it should be"), () => say("bad"))), press: () => say("good"), words: t("✓ As it should be") };
}

function step(key) {
  const step = steps[key][at], stands = standing(step);
  const asked = step.measures ? typed(key, step, stands) : seen(key, step, stands);
  const says = stands && { waiting: t("Kept on this phone."), sent: t("In the sheet."), conflict: t("Somebody else wrote another value."), refused: stands.entry?.wrong }[stands.state];
  refill(place, make("p", { class: "stage" }, t("{n} of {all} · {stage}", { n: at + 1, all: steps[key].length, stage: step.stage })), heading(step.what || step.row.circuit), told(step),
    stands && !step.measures ? make("p", { class: `judged ${stands.grade ?? ""}` }, `${stands.grade === "bad" ? t("Not as it should be.") : t("Done.")} ${stands.value ?? ""}`) : null, says ? make("p", { class: "soft", id: "stands" }, says) : null,
    stands?.state === "conflict" ? button(t("Decide"), () => go("decide")) : null, asked.body);
  foot(button(t("Back"), () => at > 0 ? go(key, at - 1) : go("start")), button(t("All steps"), () => go(`${key} list`)), button(t("Pass over"), () => at + 1 < steps[key].length ? go(key, at + 1) : go(`${key} list`)), button(asked.words ?? t("Keep"), asked.press, { class: "main" }));
}

function decide() {
  const open = conflicts()[0] ?? refused()[0];
  if (!open) return go("start");
  const [key] = SHEETS.find(([each]) => steps[each].some(({ name }) => name === open.name)) ?? [];
  const stepAt = key ? steps[key].findIndex(({ name }) => name === open.name) : -1;
  if (open.state === "refused") {
    refill(place, heading(t("The computer does not take this")), make("p", { class: "caution" }, open.wrong), make("div", { class: "both" }, make("pre", { tabindex: "0" }, open.text)));
    return foot(button(t("Later"), () => go("start")), stepAt >= 0 ? button(t("Enter it anew"), () => go(key, stepAt), { class: "main" }) : null);
  }
  refill(place, heading(t("Two values for one step")), make("p", null, stepAt >= 0 ? steps[key][stepAt].what : open.what),
    make("div", { class: "both" }, make("h3", null, t("In the sheet now")), make("pre", { tabindex: "0" }, open.theirs), make("h3", null, t("Entered on this phone, {time}", { time: new Date(open.time).toLocaleTimeString() })), make("pre", { tabindex: "0" }, open.text)));
  const choose = async (whose) => { await settle(open, whose); go(conflicts().length + refused().length > 0 ? "decide" : "start"); };
  foot(button(t("Leave theirs"), () => choose("theirs"), { class: "main" }), button(t("Write mine"), () => choose("mine"), { class: "main" }));
}

function draw() {
  tellSends();
  if (!job) {
    refill(place, heading(t("The computer does not answer")), make("p", null, t("This phone has not seen the sheet yet. Is the workbench running, and is the phone in the same network?")));
    return foot(button(t("Try again"), begin, { class: "main" }));
  }
  if (shown === "seek") return seek({ place, foot, heading, job, back: () => go("start"), loads: (steps["first-power"] ?? []).filter(({ row: cells }) => cells.set?.includes("=")).map(({ row: cells }) => ({ symptom: cells.circuit.split(",")[0], state: cells.set })) });
  if (shown === "decide") return decide();
  const [key, all] = shown.split(" ");
  if (!steps[key]?.length) { shown = "start"; return start(); }
  at = Math.min(at, steps[key].length - 1);
  return all ? list(key) : step(key);
}

async function begin() {
  const kept = recall(CASH, null), where = recall(WHERE, null);
  if (kept) {
    ({ job, sheets } = kept);
    takeSheets();
    takeJob(job.file);
    document.getElementById("title").textContent = job.title;
    if (where) ({ shown, at } = where);
    draw();
  }
  await refresh();
  redraw(!kept);
  if (!offlineStart) { offlineStart = true; listen(); }
}

beginKept(() => { tellSends(); if (!typing() && (shown === "start" || shown === "decide")) draw(); });
if (isSecureContext && "serviceWorker" in navigator) navigator.serviceWorker.register("/page/sw.mjs", { scope: "/phone" }).catch(() => {});
begin();
