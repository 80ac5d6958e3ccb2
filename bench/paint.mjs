// From turning a switch to the frame in which it is seen, in headless Chromium: 100 turns, each by a real click.
//   node paint.mjs PROGRAM JOB INPUT WORDS TARGET_MS [--json]
import { readFileSync } from "node:fs";

const [program, job, input, words, target] = process.argv.slice(2), json = process.argv.includes("--json"), TURNS = 100;
process.env.LG_PROGRAM = program;
const { browser, openWorkbench } = await import("../tests/browser/workbench-harness.mjs");
const bench = await openWorkbench("paint", { text: readFileSync(job, "utf8") });
const page = await bench.page();
await page.waitForSelector(".sheet [data-wire]", { timeout: 60000 });
const plates = page.locator(`.hand[data-input="${input}"] label`), n = await plates.count();
for (let i = 0; i < TURNS; i++) {
  const before = await page.evaluate(() => performance.getEntriesByName("turn to paint").length);
  await plates.nth((i + 1) % n).click();
  await page.waitForFunction((known) => performance.getEntriesByName("turn to paint").length > known, before, { polling: 100 }); // not at every frame: that would be work of the page's
  await page.waitForTimeout(37 + (i * 7) % 16); // so that clicks fall anywhere between two frames
}
const times = (await page.evaluate(() => performance.getEntriesByName("turn to paint").map(({ duration }) => duration))).slice(-TURNS).sort((a, b) => a - b);
await bench.end();
await browser.close();
const [ms, p95] = [times[TURNS / 2], times[TURNS * 0.95]], what = `click to paint, ${words}`;
console.log(json ? JSON.stringify({ bench: "paint", case: what, ms: Number(ms.toFixed(1)), p95_ms: Number(p95.toFixed(1)), target: `${target} ms` })
  : `${what.padEnd(58)} ${ms.toFixed(1).padStart(9)} ms, 95 of 100 within ${p95.toFixed(1)} ms   target ${target} ms`);
