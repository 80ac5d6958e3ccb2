// A workbench of one's own, and pages of headless Chromium that look at it. The browser is named in LG_CHROMIUM.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";
import { openProgram } from "./workbench-program.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
export const browser = await chromium.launch({ executablePath: process.env.LG_CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox"] });

/** `openProgram` with pages that look at it: `page(options)`. */
export async function openWorkbench(example, options) {
  const program = await openProgram(example, options), contexts = [];
  return {
    ...program,
    page: async (more) => { const page = await lookAt(program.address, more); contexts.push(page.context()); return page; },
    async end() {
      await Promise.all(contexts.map((context) => context.close()));
      await program.end();
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
// The strip of views scrolls on narrow screens; a view's link that is scrolled out of sight is no skip link, though its rule takes it for one.
export async function breaches(page) {
  const session = await page.context().newCDPSession(page);
  await session.send("Runtime.evaluate", { expression: axe });
  const { result } = await session.send("Runtime.evaluate", { expression: "axe.run(document, { rules: { \"skip-link\": { enabled: false } } }).then((found) => JSON.stringify(found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 160)).slice(0, 3).join(' | ')}`)))", awaitPromise: true });
  await session.detach();
  return JSON.parse(result.value);
}

/** Waits until the live drawing shows a state that contains these words. */
export const settled = (page, words) => page.waitForFunction((wanted) => document.querySelector(".state")?.textContent.includes(wanted), words);
