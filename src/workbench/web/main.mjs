// The desk: what the page knows, and what it lets the views do. Views come and go on it.
import { ask, askText } from "./ask.mjs";
import { settleConflict, diskNotice } from "./conflict.mjs";
import { form } from "./form.mjs";
import { drawHead } from "./head.mjs";
import { listenToKeys } from "./keys.mjs";
import { button, make, refill } from "./make.mjs";
import { t } from "./words.mjs";
import { view as diagram } from "./diagram.mjs";
import { view as findings } from "./findings.mjs";
import { view as drawings } from "./drawings.mjs";
import { view as papers } from "./papers.mjs";
import { view as circuit } from "./circuit.mjs";
import { view as tables } from "./tables.mjs";
import { view as text } from "./text.mjs";
import { view as faults } from "./faults.mjs";
import { view as course } from "./course.mjs";
import { view as plug } from "./plug.mjs";

// A view more is an import above and a word here.
const views = [diagram, findings, circuit, tables, text, drawings, faults, course, plug, papers];

const listeners = new Map();
const place = document.getElementById("place");
let shown = null, detail = "";

const desk = {
  job: null, live: null, findings: null, schema: null, hands: {}, fault: null, chosen: null, wrong: null,
  views, ask, askText,
  on(event, heed) {
    if (!listeners.has(event)) listeners.set(event, new Set());
    listeners.get(event).add(heed);
    return () => listeners.get(event).delete(heed);
  },
  tell(event) { for (const heed of [...(listeners.get(event) ?? [])]) heed(desk); },
  turn(input, position, since = performance.now()) {
    if (position === restOf(input)) delete desk.hands[input];
    else desk.hands[input] = position;
    desk.tell("hands");
    return solve(since);
  },
  rest(since = performance.now()) { desk.hands = {}; desk.tell("hands"); return solve(since); },
  putFault(key, of = null) {
    desk.fault = key === null ? null : { key, of };
    return solve(performance.now());
  },
  choose(kind, name) {
    desk.chosen = kind && name ? { kind, name } : null;
    if (shown?.name === "diagram") detail = desk.chosen ? `${kind}/${name}` : "";
    writeAddress(false);
    desk.tell("chosen");
  },
  // `edition`: what the edits were thought out on, when the sheet may have changed meanwhile.
  async edit(edits, what, edition = desk.job.edition) {
    try {
      const answer = await ask("/job/edits", { method: "POST", body: { edition, what, edits } });
      await readJob();
      desk.say(t("Saved: {what}", { what }), { undo: true });
      return answer.edition;
    } catch (error) {
      if (error.status !== 409 || edits.some((edit) => edit.do === "add")) throw error;
      await readJob();
      return (await settleConflict(error, edits)) === "mine" ? desk.edit(edits, what) : null;
    }
  },
  async takeBack(way = "undo") {
    try {
      const what = desk.job?.[way];
      await ask(`/job/${way}`, { method: "POST" });
      await readJob();
      desk.say(way === "undo" ? t("Taken back: {what}", { what: what ?? "" }) : t("Done again: {what}", { what: what ?? "" }));
    } catch (error) {
      desk.say(error.status === 409 ? t("There is nothing more to take back.") : error.wrong, { wrong: error.status !== 409 });
    }
  },
  say, go, params,
  form: (kind, record, done) => form(desk, kind, record, done),
  reread: () => readJob(),
};

const restOf = (input) => desk.job?.inputs.find(({ name }) => name === input)?.positions[0];

/** What is asked of /live and /about: the hands and the fault. */
function params(more = {}) {
  const asked = new URLSearchParams(desk.hands);
  for (const [key, value] of Object.entries(more)) asked.set(key, value);
  return asked.toString();
}

// The address says what is shown, so that it can be kept and gone back to.
function writeAddress(step) {
  if (!shown) return;
  const asked = params(desk.fault ? { fault: desk.fault.key } : {});
  const address = `#${shown?.name ?? ""}${detail ? `/${encodeURI(detail)}` : ""}${asked ? `?${asked}` : ""}`;
  if (address !== location.hash) history[step ? "pushState" : "replaceState"](null, "", address);
}

function readAddress() {
  const [, name, rest, asked] = /^#?([^/?]*)\/?([^?]*)\??(.*)$/.exec(location.hash) ?? [];
  const values = Object.fromEntries(new URLSearchParams(asked ?? ""));
  const { fault = null, ...hands } = values;
  let told = rest ?? "";
  try { told = decodeURI(told); } catch { /* as it stands */ }
  return { name, detail: told, hands, fault };
}

function go(name, told = "") {
  const next = views.find((view) => view.name === name) ?? views[0];
  const same = next === shown;
  if (!same) shown?.leave?.();
  shown = next;
  detail = told;
  if (next === diagram && told.includes("/")) {
    const [kind, ...rest] = told.split("/");
    desk.chosen = { kind, name: rest.join("/") };
  }
  writeAddress(true);
  drawViews();
  document.title = `${next.title === views[0].title ? "" : `${t(next.title)} · `}${desk.job?.title ?? "loomgraft"}`;
  if (same && next === diagram) return desk.tell("chosen");
  if (same) next.leave?.();
  place.className = `view ${next.name}`;
  place.replaceChildren();
  next.show(place, desk, told);
  if (!same && document.activeElement !== document.body) place.focus({ preventScroll: true });
}

function drawViews() {
  const nav = document.getElementById("views");
  nav.setAttribute("aria-label", t("What is shown"));
  refill(nav, make("ul", null, views.map((view) => make("li", null, make("a", {
    href: `#${view.name}`, "aria-current": view === shown ? "page" : null,
    onclick: (event) => { if (!event.ctrlKey && !event.metaKey && !event.shiftKey) { event.preventDefault(); go(view.name); } },
  }, t(view.title))))));
  const now = nav.querySelector("[aria-current]");
  if (now) nav.scrollLeft = now.offsetLeft + now.offsetWidth / 2 - nav.offsetLeft - nav.clientWidth / 2; // on a narrow screen it may lie outside
}

// One line for people. What went wrong stays until it is put away.
let saidUntil = 0;
function say(text, { wrong = false, undo = false } = {}) {
  const strip = document.getElementById(wrong ? "wrong" : "said");
  const away = () => strip.replaceChildren();
  clearTimeout(saidUntil);
  document.getElementById("said").replaceChildren();
  refill(strip, make("p", null, text), undo ? button(t("Take it back"), () => { away(); desk.takeBack(); }) : null,
    button(t("Put away"), away, { class: "quiet" }));
  if (!wrong) saidUntil = setTimeout(away, 9000);
}

// Only the newest question counts; the one before is dropped.
let solving = null;
async function solve(since) {
  solving?.abort();
  const mine = (solving = new AbortController());
  try {
    desk.live = await ask(`/live?${params(desk.fault ? { fault: desk.fault.key } : {})}`, { signal: mine.signal });
    desk.wrong = null;
    desk.tell("live");
    whenSeen(since);
  } catch (error) {
    if (error.name === "AbortError") return;
    if (desk.fault && error.status === 400) { desk.fault = null; return solve(since); }
    if (Object.keys(desk.hands).length > 0 && error.status === 400) { desk.hands = {}; desk.tell("hands"); return solve(since); }
    desk.live = null;
    desk.wrong = error;
    desk.tell("live");
    writeAddress(false);
  }
}

// Measures from the event to the frame in which its consequence is seen. Writing the address takes a browser many milliseconds: afterwards.
function whenSeen(since) {
  requestAnimationFrame(() => setTimeout(() => {
    performance.measure("turn to paint", { start: since, end: performance.now() });
    writeAddress(false);
  }));
}

async function readFindings() {
  try {
    desk.findings = await ask("/findings");
  } catch (error) {
    if (error.status === 0) throw error;
    desk.findings = null;
  }
  desk.tell("findings");
}

let known = -1; // the newest edition that live knew when it was asked
async function readJob() {
  desk.job = await ask("/job");
  if (desk.job.language !== document.documentElement.lang) return location.reload();
  for (const input of Object.keys(desk.hands))
    if (!desk.job.inputs.some(({ name, positions }) => name === input && positions.includes(desk.hands[input]))) delete desk.hands[input];
  desk.tell("job");
  if (known === desk.job.ready) return;
  known = desk.job.ready;
  solve(performance.now());
  readFindings().catch((error) => say(`${error.wrong} ${error.remedy}`, { wrong: true }));
}

// Waits for news without end; a program that went away is asked again, ever more seldom.
async function listen() {
  let serial = 0, pause = 500, lost = false;
  for (;;) {
    try {
      const news = await ask(`/news?after=${serial}`);
      if (lost) { desk.say(t("The program is there again.")); document.getElementById("wrong").replaceChildren(); }
      [serial, pause, lost] = [news.serial, 500, false];
      if (news.edition !== desk.job?.edition || news.ready !== known || news.disk !== desk.job?.disk) await readJob();
      desk.news = news;
      desk.tell("news");
    } catch (error) {
      if (!lost && error.status === 0) desk.say(`${error.wrong} ${error.remedy}`, { wrong: true });
      if (error.status === 401 || error.status === 403) return desk.say(`${error.wrong} ${error.remedy}`, { wrong: true });
      lost ||= error.status === 0;
      await new Promise((settle) => setTimeout(settle, pause));
      pause = Math.min(pause * 2, 15000);
    }
  }
}

addEventListener("popstate", () => {
  if (!shown) return; // what was asked for meanwhile is read when the page begins
  const { name, detail: told, hands, fault } = readAddress();
  desk.hands = hands;
  desk.fault = fault ? { key: fault, of: desk.fault?.key === fault ? desk.fault.of : null } : null;
  desk.chosen = null;
  desk.tell("hands");
  solve(performance.now());
  go(name, told);
});

async function begin() {
  const start = readAddress();
  desk.hands = start.hands;
  desk.fault = start.fault ? { key: start.fault, of: null } : null;
  drawHead(document.getElementById("head"), desk);
  diskNotice(document.getElementById("notices"), desk);
  listenToKeys(desk);
  try {
    const schema = ask("/job/schema");
    await readJob();
    desk.schema = await schema;
  } catch (error) {
    refill(place, make("p", { class: "wait" }, `${error.wrong ?? error} ${error.remedy ?? ""}`));
    return;
  }
  const { name, detail: told, hands, fault } = readAddress();
  if (JSON.stringify([hands, fault]) !== JSON.stringify([start.hands, start.fault])) {
    desk.hands = hands;
    desk.fault = fault ? { key: fault, of: null } : null;
    solve(performance.now());
  }
  go(name, told);
  listen();
}

begin();
