// The workbench of a German sheet: every text of the page in German, and no view wider than a phone.
import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import test, { after } from "node:test";
import { breaches, browser, openWorkbench } from "./workbench-harness.mjs";

const root = new URL("../../", import.meta.url);
const sheet = readFileSync(new URL("examples/library-van-seat.job", root), "utf8").replace(/^job "[^"]*"/m, "$& language=de");
const web = new URL("src/workbench/web/", root);
const sources = readdirSync(web).map((name) => readFileSync(new URL(name, web), "utf8")).join("\n");
const texts = [...sources.matchAll(/\b(?:t|later)\("((?:[^"\\]|\\.)*)"|\bdata-t>([^<]*)/g)].map(([, script, html]) => (script ?? html).replace(/\\(.)/g, "$1"));
// The same word in both languages.
const same = new Set(["Code", "Text", "Ohm"]);
const desk = await openWorkbench("library-van-seat", { text: sheet });
after(() => desk.end().then(() => browser.close()));

const shown = (page) => page.evaluate(() => {
  const all = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) all.push(walk.currentNode.textContent.trim());
  for (const name of ["aria-label", "title", "placeholder"]) for (const node of document.querySelectorAll(`[${name}]`)) all.push(node.getAttribute(name).trim());
  return all;
});

test("every text of the page is served in German", async () => {
  const page = await desk.page();
  const words = await page.evaluate(async () => (await fetch("/page/words.json")).json());
  assert.equal(words.language, "de");
  assert.ok(texts.length > 400);
  assert.deepEqual([...new Set(texts)].filter((text) => !(text in words.texts) && !same.has(text)), []);
  assert.equal(await page.evaluate(() => document.documentElement.lang), "de");
  await page.context().close();
});

for (const view of ["diagram", "findings", "circuit", "tables", "text", "drawings", "faults", "course", "plug", "papers"])
  test(`${view}: German, and no wider than a phone`, async () => {
    const page = await desk.page({ width: 390, height: 844, at: view });
    if (view === "diagram") await page.evaluate(() => { location.hash = "diagram/part/S2?KEY=on"; });
    await page.waitForFunction(() => document.querySelector("#place")?.childElementCount > 0);
    await page.waitForTimeout(800);
    const english = new Set(texts.map((text) => text.trim()).filter((text) => / |^[A-Z]/.test(text) && !same.has(text)));
    assert.deepEqual((await shown(page)).filter((text) => english.has(text)), []);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= 390, `${wide} px`);
    assert.deepEqual(await breaches(page), []);
    assert.deepEqual(page.wrongs, []);
    await page.context().close();
  });

test("the page takes up another language when the sheet does", async () => {
  const page = await desk.page();
  assert.equal(await page.locator("#views a").first().textContent(), "Plan");
  desk.write(sheet.replace(" language=de", ""));
  await page.locator("#views a", { hasText: "Diagram" }).waitFor();
  assert.equal(await page.evaluate(() => document.documentElement.lang), "en");
  desk.write(sheet);
  await page.locator("#views a", { hasText: "Plan" }).waitFor();
});
