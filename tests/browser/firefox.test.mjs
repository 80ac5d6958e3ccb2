// The workbench, the phone's page and the write-up in headless Firefox: a short walk through all of them. The browser is named in LG_FIREFOX.
import assert from "node:assert/strict";
import test, { after } from "node:test";
import { pathToFileURL } from "node:url";
import puppeteer from "puppeteer-core";
import { openProgram } from "./workbench-program.mjs";

const browser = await puppeteer.launch({ browser: "firefox", executablePath: process.env.LG_FIREFOX ?? "/usr/bin/firefox-esr", headless: true });
const bench = await openProgram("library-van-seat"), home = new URL(bench.address).origin;
after(async () => { await browser.close(); await bench.end(); });

/** A page whose errors and requests to elsewhere are gathered. */
async function open(address, width = 1280) {
  const page = await browser.newPage();
  page.setDefaultTimeout(120000); // a machine that does other work, too
  page.wrongs = [];
  page.on("pageerror", (error) => page.wrongs.push(String(error)));
  page.on("console", (message) => message.type() === "error" && page.wrongs.push(message.text()));
  page.on("request", (request) => { const to = request.url(); if (!/^(data|blob|file):/.test(to) && new URL(to).origin !== home) page.wrongs.push(`asked ${to}`); });
  await page.setViewport({ width, height: width === 390 ? 844 : 900 });
  await page.goto(address);
  return page;
}
async function done(page) {
  const wide = await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth ? null
    : `${location.href}: ${document.documentElement.scrollWidth} px; ${[...document.querySelectorAll("body *")].filter((each) => each.getBoundingClientRect().right > innerWidth + 1).slice(0, 8).map((each) => each.cloneNode().outerHTML).join(" ")}`);
  assert.equal(wide, null);
  assert.deepEqual(page.wrongs, []);
}
const at = async (page, hash) => { await page.evaluate((to) => { location.hash = to; }, hash); await page.waitForFunction((name) => document.querySelector("#place").classList.contains(name), {}, /^\w+/.exec(hash)[0]); };
const seen = (page, selector, words = "") => page.waitForFunction((of, wanted) => [...document.querySelectorAll(of)].some((each) => each.checkVisibility() && each.textContent.includes(wanted)), {}, selector, words);
const press = async (page, words, within = "") => page.locator(`${within} ::-p-xpath(//button[normalize-space()="${words}"])`.trim()).click();
async function chord(page, key) { await page.keyboard.down("Control"); await page.keyboard.press(key); await page.keyboard.up("Control"); }
async function saved(words) {
  for (let i = 0; i < 300 && !words.test(bench.text()); i++) await new Promise((settle) => setTimeout(settle, 50));
  assert.match(bench.text(), words);
}

// The first visit is let in by the address; those after it have the cookie.
await done(await open(bench.address));

test("the diagram reacts to the key, and what is called for is brought into sight", async () => {
  const page = await open(`${home}/#diagram`);
  await seen(page, ".sheet [data-wire=W6]");
  await page.waitForSelector(".sheet .live");
  assert.equal(await page.$(".sheet [data-wire=W6].carries"), null);
  for (const [input, position] of [["KEY", "on"], ["SW2", "a"]]) await page.click(`.hand[data-input="${input}"] input[value="${position}"]`);
  await page.waitForSelector(".sheet [data-wire=W6].carries");
  await page.waitForSelector('.sheet [data-element="M2.motor"].runs');
  assert.match(page.url(), /KEY=on/);
  await at(page, "diagram/wire/W6?KEY=on&SW2=a");
  await page.reload();
  await seen(page, ".slip h2", "wire W6");
  await page.waitForFunction(() => {
    const wire = document.querySelector(".sheet [data-wire=W6]")?.getBoundingClientRect(), stage = document.querySelector(".stage").getBoundingClientRect();
    return wire && wire.left >= stage.left && wire.right <= stage.right && wire.top >= stage.top && wire.bottom <= stage.bottom;
  });
  await page.click(".slip .change summary");
  await seen(page, ".slip form.record label");
  await done(page);
});

test("what is typed and pasted into a table lands in the file, and is taken back", async () => {
  const page = await open(`${home}/#tables/run`), before = bench.text();
  await page.waitForSelector(".grid [role=columnheader]");
  const heads = await page.$$eval(".grid [role=columnheader]", (all) => all.map(({ textContent }) => textContent));
  const cell = (row) => `.grid [data-row="${row}"][data-column="${heads.indexOf("length")}"]`;
  const pick = async (row) => { await page.locator(cell(row)).click(); await page.waitForFunction((of) => document.activeElement?.matches(of), {}, cell(row)); };
  await pick(0);
  await page.keyboard.type("1.43m");
  await page.keyboard.press("Enter");
  await saved(/^run \S+ .*1\.43m/m);
  await pick(0);
  await chord(page, "c");
  await pick(1);
  await chord(page, "v");
  await saved(/^run \S+ .*1\.43m[^]*^run \S+ .*1\.43m/m);
  for (let i = 0; i < 2; i++) {
    await page.locator("#head button ::-p-text(Take back:)").click();
    await seen(page, "#said", "Taken back");
    await page.evaluate(() => document.getElementById("said").replaceChildren());
  }
  assert.equal(bench.text(), before);
  await done(page);
});

test("errors stand at their lines in the text; Ctrl and S save", async () => {
  const page = await open(`${home}/#text`);
  await page.waitForFunction(() => document.querySelector("#sheet-text")?.value);
  await page.focus("#sheet-text");
  await page.evaluate(() => { const area = document.getElementById("sheet-text"); area.setSelectionRange(area.value.length, area.value.length); });
  await page.keyboard.type("wier W99\n");
  await seen(page, ".problems li", "did you mean");
  assert.equal(await page.$$eval(".lines .bad", (all) => all.length), 1);
  for (let i = 0; i < 9; i++) await page.keyboard.press("Backspace");
  await page.keyboard.type('need "rests" G1.cell current<5A when KEY=off\n');
  await seen(page, ".problems", "Reads well.");
  await chord(page, "s");
  await saved(/^need "rests"/m);
  await done(page);
});

test("studies: every fault, a course, the papers, an unknown plug", async () => {
  const page = await open(`${home}/#faults`);
  await press(page, "Try every fault");
  await page.waitForSelector(".wide tbody tr");
  await at(page, "course/cold-morning");
  await press(page, "Run it");
  await page.waitForSelector(".strip svg path");
  await press(page, "Later event");
  await at(page, "papers");
  await press(page, "Make the papers");
  await page.waitForSelector(".files a[download='packet.pdf']");
  await at(page, "plug");
  await page.click(".read input[type=checkbox]");
  await press(page, "Begin measuring");
  await page.waitForSelector("#shows");
  await done(page);
});

const views = [["diagram", ".sheet [data-wire]"], ["findings", "h2"], ["circuit", ".written form, .written input"], ["tables/wire", ".grid [role=gridcell]"], ["text", "#sheet-text"], ["drawings", ".sheet svg"], ["faults", "h2"], ["course", "h2"], ["plug", "h2"], ["papers", "h2"]];
for (const width of [1280, 390])
  test(`every view at ${width} px: no errors, no wider than the screen`, async () => {
    const page = await open(`${home}/`, width);
    await page.waitForSelector("#views a");
    for (const [view, shows] of views) {
      await at(page, view);
      await seen(page, `#place ${shows}`);
      await page.waitForFunction(() => { const now = document.querySelector("#views [aria-current]").getBoundingClientRect(); return now.left >= 0 && now.right <= innerWidth; });
      await done(page);
    }
    const phone = await open(`${home}/phone`, width);
    await phone.waitForSelector("button.row:enabled");
    await phone.click("button.row");
    await seen(phone, "h2");
    await done(phone);
  });

for (const folder of (process.env.LG_PACKETS ?? "").split(":").filter(Boolean))
  test(`the write-up of ${folder.split("/").at(-1)} works alone`, async () => {
    for (const width of [1280, 390]) {
      const page = await open(pathToFileURL(`${folder}/write-up.html`).href, width);
      await page.waitForFunction(() => "ready" in document.body.dataset);
      const state = () => page.evaluate(() => document.querySelector("#diagram, main").innerHTML);
      const before = await state();
      await page.evaluate(() => [...document.querySelectorAll("input[type=radio]:not(:checked)")].find((each) => !each.disabled).click());
      await page.waitForFunction((was) => document.querySelector("#diagram, main").innerHTML !== was, {}, before);
      await done(page);
    }
  });
