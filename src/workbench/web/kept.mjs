// What is entered on the phone: kept there first, sent when the computer answers, never twice.
import { ask } from "./ask.mjs";

const STORE = "loomgraft entries", plain = (text) => (text ?? "").replace(/\s+/g, " ").trim();
let entries = [], sending = false, wrong = null, heed = () => {}, jobFile = null;

function read(name, other) {
  try { return JSON.parse(localStorage.getItem(name)) ?? other; } catch { return other; }
}

/** False when the phone has no room, so that a person can be told. */
export function keep(name, value) {
  try { localStorage.setItem(name, JSON.stringify(value)); return true; } catch { return false; }
}
export const recall = read;

export function beginKept(listener) {
  heed = listener;
  entries = read(STORE, []);
  addEventListener("storage", ({ key }) => { if (key === STORE) { entries = read(STORE, []); heed(); } });
  for (const event of ["online", "focus", "pageshow"]) addEventListener(event, send);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
  setInterval(() => { if (waiting().length > 0) send(); }, 4000);
}

/** Which sheet is open on the computer; entries of another wait for theirs. */
export function takeJob(file) { jobFile = file; send(); }

export const entryOf = (name, file = jobFile) => entries.find((entry) => entry.name === name && entry.file === file) ?? null;
export const waiting = () => entries.filter(({ state, file }) => state === "waiting" && file === jobFile);
export const others = () => entries.filter(({ state, file }) => state !== "sent" && file !== jobFile);
export const conflicts = () => entries.filter(({ state, file }) => state === "conflict" && file === jobFile);
export const refused = () => entries.filter(({ state, file }) => state === "refused" && file === jobFile);
export const trouble = () => wrong;
export const isSending = () => sending;

/** entry: {name, file, edition, kind, step, value, grade, text, what}; `seen`: the record that was shown when it was entered. */
export function enter(entry, seen) {
  const before = entryOf(entry.name, entry.file);
  const next = { ...entry, time: Date.now(), state: "waiting", mine: [...(before?.mine ?? []), seen, entry.text].filter(Boolean).slice(-6) };
  entries = [...entries.filter((each) => each !== before), next];
  const kept = keep(STORE, entries);
  heed();
  send();
  return kept;
}

function change(entry, news) {
  const at = entries.findIndex((each) => each.name === entry.name && each.file === entry.file && each.time === entry.time);
  if (at < 0) return; // entered anew meanwhile
  entries[at] = { ...entries[at], ...news };
  keep(STORE, entries);
  heed();
}

/** Settles a conflict: "mine" is written over theirs, "theirs" stays. */
export async function settle(entry, whose) {
  if (whose === "theirs") return change(entry, { state: "sent", text: entry.theirs, value: entry.theirsValue ?? null, grade: null, mine: [entry.theirs] });
  change(entry, { state: "waiting", mine: [...entry.mine, entry.theirs] });
  return send();
}

const post = (entry, edition, edit) => ask("/job/edits", { method: "POST", signal: AbortSignal.timeout(8000), body: { edition, what: entry.what, edits: [edit] } });

/** Adds it; where a record of that name stands that this phone wrote, it is put in its place. */
async function sendOne(entry) {
  try {
    return await post(entry, entry.edition, { do: "add", text: entry.text });
  } catch (error) {
    const theirs = error.answer?.theirs;
    if (error.status !== 409 || !theirs || !entry.mine.some((text) => plain(text) === plain(theirs))) throw error;
    const { edition, records } = await ask("/job", { signal: AbortSignal.timeout(8000) });
    const stands = records.find((record) => record.kind === entry.kind && record.name === entry.name && !record.variant);
    if (plain(stands?.source) !== plain(theirs)) throw error;
    return post(entry, edition, { do: "replace", record: { kind: entry.kind, name: entry.name, variant: 0 }, text: entry.text });
  }
}

export async function send() {
  if (sending || jobFile === null) return;
  sending = true;
  wrong = null;
  for (const entry of waiting()) {
    heed();
    try {
      await sendOne(entry);
      change(entry, { state: "sent", mine: [entry.text] });
    } catch (error) {
      if (error.status === 409 && error.answer?.theirs) change(entry, { state: "conflict", theirs: error.answer.theirs });
      else if (error.status === 400 || error.status === 409 || error.status === 413) change(entry, { state: "refused", wrong: `${error.wrong} ${error.remedy}` });
      else { wrong = { status: error.status ?? 0, words: error.wrong ?? "" }; break; }
    }
  }
  sending = false;
  heed();
}
