// An hour of a busy person at the workbench, as fast as it goes: what memory the program takes then.
//   node hour.mjs PROGRAM EXAMPLE [--json] [--course]
import { spawn } from "node:child_process";
import { copyFileSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const PAGES = 3, EDITS = 600, QUESTIONS = 6, WIRES = ["W5", "W6", "W7", "W8"], MOST_MB = 80;
const [program, example] = process.argv.slice(2), json = process.argv.includes("--json");
const folder = mkdtempSync(join(tmpdir(), "hour-")), file = join(folder, "hour.job");
copyFileSync(example, file);
const server = spawn(program, ["open", file], { stdio: ["ignore", "pipe", "ignore"] });
for (const end of ["SIGINT", "SIGTERM"]) process.on(end, () => process.exit(1));
process.on("exit", () => { server.kill("SIGTERM"); rmSync(folder, { recursive: true, force: true }); });
const address = await new Promise((settle) => { let said = ""; server.stdout.on("data", (bytes) => { said += bytes; const found = /http:\/\/\S+\/key\/\S+/.exec(said); if (found) settle(found[0]); }); });
const home = new URL(address).origin;
const cookie = (await fetch(address, { redirect: "manual" })).headers.get("set-cookie").split(";")[0];

const megabytes = (key) => Number(new RegExp(`^${key}:\\s+(\\d+)`, "m").exec(readFileSync(`/proc/${server.pid}/status`, "utf8"))[1]) * 1024 / 1e6;

async function ask(path, body, method = body ? "POST" : "GET") {
  const answer = await fetch(home + path, { method, headers: { Cookie: cookie, ...(method !== "GET" ? { "Content-Type": "application/json", "X-Loomgraft": "1" } : {}) }, body: body && JSON.stringify(body) });
  const bytes = await answer.arrayBuffer(), text = new TextDecoder().decode(bytes);
  if (!answer.ok && answer.status !== 304) throw new Error(`${method} ${path}: ${answer.status} ${text.slice(0, 200)}`);
  return answer.headers.get("content-type")?.startsWith("application/json") ? JSON.parse(text) : text;
}

let ended = false;
/** What a page does: waits for news, and reads again what an edition changed. */
async function page() {
  for (let serial = 0, ready = -1; !ended;) {
    const news = await ask(`/news?after=${serial}`);
    serial = news.serial;
    if (news.ready === ready || news.ready === 0) continue;
    ready = news.ready;
    for (const path of ["/job", "/live", "/findings", "/drawings", "/drawings/diagram/1.svg"]) await ask(path);
  }
}

async function readyFor(edition) {
  for (let news = await ask("/news"); news.ready < edition; news = await ask(`/news?after=${news.serial}`)) if (news.unready) throw new Error(news.unready);
}

async function study(body) {
  const { run } = await ask("/runs", body);
  for (let state = { done: false }; !state.done;) {
    await new Promise((settle) => setTimeout(settle, 100));
    state = await ask(`/runs/${run}`);
    if (state.wrong) throw new Error(state.wrong);
    if (state.done) for (const name of state.files) await ask(`/runs/${run}/files/${name}`);
  }
}

const inputs = [["KEY", "on"], ["SW1", "a"], ["SW2", "b"], ["S2", "high"], ["SW3", "a"]];
const uses = (await ask("/job")).records.filter(({ kind, variant }) => kind === "use" && !variant).map(({ name }) => name);
const pages = Array.from({ length: PAGES }, page);
await readyFor(1);
let { edition } = await ask("/job");
for (let i = 0; i < EDITS; i++) {
  if (i % 50 === 0) { await readyFor(edition); if (process.argv.includes("--course")) console.error(`${i} edits: ${megabytes("VmRSS").toFixed(1)} MB`); }
  const wire = WIRES[i % WIRES.length];
  ({ edition } = await ask("/job/edits", { edition, what: `spare of ${wire}`, edits: [{ do: "set", record: { kind: "wire", name: wire, variant: 0 }, key: "spare", value: `0.${1 + Math.floor(i / 4) % 8}m` }] }));
  for (let q = 0; q < QUESTIONS; q++) await ask(`/live?${new URLSearchParams(inputs.filter((_, k) => ((i + q) >> k) & 1))}`);
  await ask(`/about?kind=wire&name=${wire}&KEY=on`);
  if (i % 6 === 0) for (const way of ["undo", "undo", "redo", "redo"]) ({ edition } = await ask(`/job/${way}`, {}, "POST").catch(() => ({ edition })));
  if (i % 10 === 0) {
    await readyFor(edition);
    const { faults } = await ask(`/faults/of?kind=wire&name=${wire}`);
    await ask(`/live?KEY=on&fault=${encodeURIComponent(faults[(i / 10) % faults.length].key)}`);
    await ask("/tables/wires");
  }
  if (i % 60 === 10) await study({ verb: "simulate", use: uses[(i / 60 | 0) % uses.length] });
  if (i % 60 === 20) { const { drawings } = await ask("/drawings"), { name, sheets } = drawings[(i / 60 | 0) % drawings.length]; if (sheets) for (const kind of ["svg", "png", "pdf"]) await ask(`/drawings/${name}/1.${kind}`); }
  if (i % 300 === 30) for (const verb of ["packet", "faults", "locate"]) await study({ verb, readings: [] });
}
await readyFor(edition);
for (let n = 0; n < EDITS; n++) await ask("/job/undo", {}, "POST"); // all the way back
await readyFor((await ask("/job")).edition);
const undone = readFileSync(file, "utf8") === readFileSync(example, "utf8");
const [last, most] = [megabytes("VmRSS"), megabytes("VmHWM")];
ended = true;
server.kill("SIGTERM");
await Promise.allSettled(pages);
if (!undone) throw new Error("undo did not lead back to the begin");
for (const [what, value] of [["an hour's work at the workbench, at its end", last], ["an hour's work at the workbench, at its most", most]])
  console.log(json ? JSON.stringify({ bench: "workbench", case: what, MB: Number(value.toFixed(1)), target: String(MOST_MB) }) : `${what.padEnd(58)} ${value.toFixed(1).padStart(9)} MB   target ${MOST_MB}`);
