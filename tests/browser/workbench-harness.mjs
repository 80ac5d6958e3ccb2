// A workbench of one's own: an example copied into a folder of its own, `loomgraft open` on it, and pages that look at it.
// The program is named in LG_PROGRAM; the browser in LG_CHROMIUM.
import { spawn } from "node:child_process";
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

const examples = fileURLToPath(new URL("../../examples/", import.meta.url));
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
export const browser = await chromium.launch({ executablePath: process.env.LG_CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox"] });

/** Starts the program on a copy of an example, on `text`, or (`fresh`) on a sheet that is not there yet. `{ file, address, text(), write(text), page(options), end() }` */
export async function openWorkbench(example, { text, fresh = false, args = [] } = {}) {
  const folder = mkdtempSync(join(tmpdir(), "workbench-"));
  const file = join(folder, `${basename(example, ".job")}.job`);
  if (fresh) { /* the program begins it */ } else if (text === undefined) copyFileSync(join(examples, `${example}.job`), file);
  else writeFileSync(file, text);
  const program = spawn(process.env.LG_PROGRAM, ["open", file, ...args], { stdio: ["ignore", "pipe", "pipe"] });
  const address = await new Promise((settle, fail) => {
    let said = "", complained = "";
    program.stderr.on("data", (bytes) => { complained += bytes; });
    program.stdout.on("data", (bytes) => { said += bytes; const found = /http:\/\/\S+\/key\/\S+/.exec(said); if (found) settle(found[0]); });
    program.on("exit", (code) => fail(new Error(`the program ended with ${code}: ${complained}`)));
  });
  const contexts = [];
  return {
    file, folder, address, program,
    text: () => readFileSync(file, "utf8"),
    write: (words) => writeFileSync(file, words),
    page: async (options) => { const page = await lookAt(address, options); contexts.push(page.context()); return page; },
    async end() {
      await Promise.all(contexts.map((context) => context.close()));
      const gone = new Promise((settle) => program.once("exit", settle));
      program.removeAllListeners("exit");
      const ended = new Promise((settle) => program.once("exit", settle));
      program.kill("SIGTERM");
      await Promise.race([gone, ended]);
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** A page that has read the job. `page.wrongs`: errors and broken rules of the content policy; `page.strangers`: requests to elsewhere. */
export async function lookAt(address, { width = 1280, height = 900, scheme = "light", at = "", ...more } = {}) {
  const context = await browser.newContext({ viewport: { width, height }, colorScheme: scheme, acceptDownloads: true, ...more });
  context.setDefaultTimeout(120000); // a machine that does other work, too
  const page = await context.newPage(), home = new URL(address).origin;
  page.wrongs = [];
  page.strangers = [];
  page.on("pageerror", (error) => page.wrongs.push(String(error)));
  page.on("console", (message) => message.type() === "error" && page.wrongs.push(`${message.text()} ${message.location().url}`));
  page.on("request", (request) => { if (!/^(data|blob):/.test(request.url()) && new URL(request.url()).origin !== home) page.strangers.push(request.url()); });
  await page.goto(address);
  if (at) await page.evaluate((hash) => { location.hash = hash; }, at);
  await page.waitForFunction(() => document.querySelector("h1")?.textContent && !document.querySelector("#place > .wait"));
  return page;
}

/** What axe-core finds against a page, in words. Its script is put in past the content policy, which is not weakened. */
export async function breaches(page) {
  const session = await page.context().newCDPSession(page);
  await session.send("Runtime.evaluate", { expression: axe });
  const { result } = await session.send("Runtime.evaluate", { expression: "axe.run(document).then((found) => JSON.stringify(found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 160)).slice(0, 3).join(' | ')}`)))", awaitPromise: true });
  await session.detach();
  return JSON.parse(result.value);
}

/** Waits until the live drawing shows a state that contains these words. */
export const settled = (page, words) => page.waitForFunction((wanted) => document.querySelector(".state")?.textContent.includes(wanted), words);
