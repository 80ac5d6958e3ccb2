// The write-up in headless Chromium: it can be operated, read on a phone, and holds to accessibility rules.
// Folders that `loomgraft packet` wrote are named in LG_PACKETS, separated by colons; NAME-de is NAME in German.
import assert from "node:assert/strict";
import { readFileSync, readdirSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import test, { after } from "node:test";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const folders = (process.env.LG_PACKETS ?? "").split(":").filter(Boolean);
const browser = await chromium.launch({ executablePath: process.env.LG_CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox"] });
after(() => browser.close());

async function open(folder, width, height) {
  const context = await browser.newContext({ viewport: { width, height }, bypassCSP: true, offline: true });
  const page = await context.newPage();
  const errors = [], asked = [];
  page.on("pageerror", (error) => errors.push(String(error)));
  page.on("console", (message) => message.type() === "error" && errors.push(message.text()));
  page.on("request", (request) => asked.push(request.url()));
  await page.goto(pathToFileURL(`${folder}/write-up.html`).href);
  await page.waitForFunction(() => "ready" in document.body.dataset);
  return { page, context, errors, asked };
}

/** Every text that a person reads or hears, with the state as it is and all lines and devices tapped. */
async function textsOf(folder) {
  const { page, context } = await open(folder, 1280, 900);
  for (const set of await page.locator("#controls fieldset").all()) await set.locator("input:enabled").last().check();
  const texts = await page.evaluate(() => {
    const all = [...document.querySelectorAll(".sheet g[data-wire], .sheet g[data-element]")].flatMap((item) => {
      item.dispatchEvent(new Event("click"));
      return document.getElementById("told").textContent.split(/[.;:,] /);
    });
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT, (node) => (node.parentElement.closest("script, style") ? NodeFilter.FILTER_REJECT : NodeFilter.FILTER_ACCEPT));
    while (walk.nextNode()) all.push(walk.currentNode.textContent.trim());
    for (const name of ["aria-label", "alt", "data-title", "title"]) for (const node of document.querySelectorAll(`[${name}]`)) all.push(node.getAttribute(name));
    return all;
  });
  const language = await page.evaluate(() => document.documentElement.lang);
  await context.close();
  return { language, texts: new Set(texts) };
}

/** The words of the sheet and of the catalogue, which no translation touches. */
function ownWords(name) {
  const root = new URL("../../", import.meta.url), data = new URL("data/", root);
  const files = [new URL(`examples/${name}.job`, root), ...readdirSync(data).filter((file) => file.endsWith(".job")).map((file) => new URL(file, data))];
  return new Set(["degc", ...files.flatMap((file) => readFileSync(file, "utf8").toLowerCase().match(/[a-z]+/g))]);
}

test("folders are given", () => assert.ok(folders.length > 0));

for (const folder of folders) {
  const name = folder.split("/").at(-1);

  test(`${name}: small, alone, without errors`, async () => {
    assert.ok(statSync(`${folder}/write-up.html`).size < 2_000_000);
    const { errors, asked, context } = await open(folder, 1280, 900);
    assert.deepEqual(errors, []);
    assert.deepEqual(asked.filter((url) => !url.startsWith("file:")), []);
    await context.close();
  });

  // From the start of the navigation to the first state shown; the best of five, for other work on the machine only adds.
  test(`${name}: opens quickly`, async (t) => {
    const times = [];
    for (let i = 0; i < 5; i++) {
      const { page, context } = await open(folder, 390, 844);
      times.push(await page.evaluate(() => performance.getEntriesByName("first state")[0].startTime));
      await context.close();
    }
    times.sort((a, b) => a - b);
    t.diagnostic(`first state shown after ${times.map(Math.round).join(", ")} ms`);
    assert.ok(times[0] < 500, `${Math.round(times[0])} ms`);
  });

  test(`${name}: photos are shown, upright and with words for who cannot see them`, async () => {
    const { page, context } = await open(folder, 390, 844);
    for (const photo of await page.locator("figure img").all()) {
      await photo.scrollIntoViewIfNeeded();
      await photo.evaluate((image) => image.decode());
      assert.ok(await photo.evaluate((image) => image.naturalWidth > 0 && image.alt.length > 0));
    }
    await context.close();
  });

  test(`${name}: throwing the switches changes what is drawn, and back`, async () => {
    const { page, context } = await open(folder, 1280, 900);
    const carrying = () => page.locator(".sheet g[data-wire].carries").count();
    const rest = await carrying();
    const sets = await page.locator("#controls fieldset").all();
    for (const set of sets) await set.locator("input:enabled").last().check();
    const on = await carrying();
    assert.ok(on > rest, `${on} lines carry current with everything switched, ${rest} at rest`);
    assert.match(await page.locator("#now").textContent(), /KEY=/);
    for (const set of sets) await set.locator("input").first().check();
    assert.equal(await carrying(), rest);
    await context.close();
  });

  test(`${name}: a line that is tapped tells its figures`, async () => {
    const { page, context } = await open(folder, 1280, 900);
    const line = page.locator(".sheet g[data-wire]").first();
    await line.dispatchEvent("click");
    assert.ok((await page.locator("#told").textContent()).startsWith(`${await line.getAttribute("data-wire")}: `));
    await context.close();
  });

  for (const [width, height] of [[390, 844], [1280, 900]])
    test(`${name}: accessible, and no wider than the screen, at ${width} px`, async () => {
      const { page, context } = await open(folder, width, height);
      assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= width);
      await page.evaluate(axe);
      const found = await page.evaluate(() => globalThis.axe.run(document));
      assert.deepEqual(found.violations.map((v) => `${v.id}: ${v.nodes[0].html.slice(0, 120)}`), []);
      await context.close();
    });

  // What both languages have word for word is the sheet's own, or was forgotten.
  if (name.endsWith("-de"))
    test(`${name}: nothing is left in English`, async () => {
      const german = await textsOf(folder), english = await textsOf(folder.slice(0, -3)), own = ownWords(name.slice(0, -3));
      assert.deepEqual([german.language, english.language], ["de", "en"]);
      const same = [...german.texts].filter((text) => english.texts.has(text) && (text.match(/\p{L}{3,}/gu) ?? []).some((word) => !own.has(word.toLowerCase())));
      assert.deepEqual(same, []);
    });
}
