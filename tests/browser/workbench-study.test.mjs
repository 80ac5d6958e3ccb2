// Faults, a course through time and an unknown plug, in headless Chromium.
import assert from "node:assert/strict";
import test, { after } from "node:test";
import { breaches, browser, openWorkbench } from "./workbench-harness.mjs";

const bench = await openWorkbench("library-van-seat");
after(async () => { await bench.end(); await browser.close(); });
const clean = (page) => { assert.deepEqual(page.wrongs, []); assert.deepEqual(page.strangers, []); };
const LONG = { timeout: 240000 };

test("the table of faults filters, sorts, and puts a fault into the diagram", async () => {
  const page = await bench.page({ at: "faults" });
  await page.getByRole("button", { name: "Try every fault" }).click();
  await page.waitForSelector(".wide tbody tr", LONG);
  const rows = () => page.locator(".wide tbody tr").count(), told = async () => Number(/^(\d+) of/.exec(await page.locator(".study [role=status]").textContent())[1]);
  const all = await told();
  assert.ok(all > 100);
  await page.getByLabel("Severity", { exact: true }).selectOption("danger");
  const dangers = await told();
  assert.ok(dangers > 0 && dangers < all);
  assert.deepEqual([...new Set(await page.locator(".wide .sev").allTextContents())], ["danger"]);
  await page.getByLabel("Severity", { exact: true }).selectOption("");
  const places = await page.getByLabel("Place", { exact: true }).locator("option").evaluateAll((options) => options.map(({ value }) => value).filter(Boolean));
  assert.ok(places.includes("seat-box"));
  await page.getByLabel("Place", { exact: true }).selectOption("seat-box");
  assert.ok((await told()) < all && (await told()) > 0);
  await page.getByLabel("Cause", { exact: true }).selectOption("open");
  assert.ok((await page.locator(".wide tbody button.link").allTextContents()).every((words) => / open$/.test(words)));
  await page.getByLabel("Holds the word", { exact: true }).fill("W6");
  assert.ok((await rows()) >= 1);
  await page.getByRole("columnheader", { name: "Hottest wire" }).getByRole("button").click();
  assert.equal(await page.locator("th.hottest").getAttribute("aria-sort"), "ascending");
  assert.deepEqual(await breaches(page), []);
  await page.locator(".wide tbody button.link", { hasText: "W6 open" }).click();
  await page.waitForSelector(".sheet [data-wire=W6]");
  await page.waitForSelector(".frame.broken");
  assert.match(page.url(), /#diagram.*fault=/);
  clean(page);
  await page.context().close();
});

test("a course is run, its strips are drawn, and it plays from event to event", async () => {
  const page = await bench.page({ at: "course/cold-morning" });
  await page.getByRole("button", { name: "Run it" }).click();
  await page.waitForSelector(".strip svg path", LONG);
  for (const title of ["Temperatures", "Currents", "Contacts", "Battery charge"]) assert.equal(await page.getByRole("region", { name: title, exact: true }).count(), 1, title);
  const told = () => page.locator(".timeline output").textContent();
  assert.match(await told(), /^0:00 min: .*KEY to on/);
  await page.getByRole("button", { name: "Later event" }).click();
  assert.match(await told(), /^2:00 min: engine at 1800 rpm/);
  await page.getByRole("button", { name: "Play" }).click();
  await page.waitForFunction(() => /K2 lets go/.test(document.querySelector(".timeline output").textContent));
  await page.getByRole("button", { name: "Hold" }).click();
  await page.locator(".timeline input[type=range]").fill("600");
  assert.match(await told(), /^10:00 min: /);
  /* The greatest temperature of the cushion is in the report; the sample under the cursor is not above it. */
  const shown = Number(/cushion ([\d.]+) /.exec(await page.locator(".curves button", { hasText: /^cushion / }).first().textContent())[1]);
  assert.ok(shown > 25 && shown <= 40.1, `${shown} degrees`);
  assert.equal(await page.locator("[style]").evaluateAll((all) => all.filter((each) => each.closest(".study")).length), 0);
  assert.deepEqual(await breaches(page), []);
  clean(page);
  await page.context().close();
});

test("an unknown plug: the caution first, then readings, then records in the sheet", async () => {
  const other = await openWorkbench("plug", { text: `job "Unknown plug" date=2026-05-01
part P assembly is=donor face=2x2 "plug of a seat"
pin P.1
pin P.2
pin P.3
pin P.4 restraint=maybe
part G battery-12 is=host capacity=60Ah
` });
  const page = await other.page({ at: "plug" });
  const begin = page.getByRole("button", { name: "Begin measuring" });
  assert.ok(await begin.isDisabled(), "nothing before the caution is read");
  assert.match(await page.locator(".read").textContent(), /airbag/);
  assert.match(await page.locator(".study").textContent(), /left alone: P\.4/);
  assert.deepEqual(await breaches(page), []);
  await page.getByLabel(/I have read this/).check();
  await begin.click();
  await page.waitForSelector("#shows", LONG);
  const ohms = { "1,2": "2.4", "1,3": "open", "2,3": "open" };
  for (let i = 0; i < 3; i++) {
    const pair = await page.locator(".next .leads dd").allTextContents();
    assert.ok(!pair.includes("4"), "the restraint's cavity is never proposed");
    assert.equal(await page.locator(".face .mark.red").count() > 0, true, "the next cavity is marked on the drawing");
    const value = ohms[[...pair].sort().join()];
    if (i === 0) await page.getByLabel("Which meter").fill("bench meter");
    const before = other.text().split("\nreading ").length;
    if (value === "open") await page.locator(".next").getByRole("button", { name: "open", exact: true }).click();
    else { await page.locator("#shows").fill(value); await page.getByRole("button", { name: "Keep it" }).click(); }
    for (let wait = 0; wait < 100 && other.text().split("\nreading ").length === before; wait++) await page.waitForTimeout(50);
    await page.waitForFunction((pressed) => document.querySelector(".next .leads dd, .next .verdict")?.textContent !== pressed || true, pair[0]);
    await page.waitForTimeout(400);
  }
  assert.match(other.text(), /^reading P-1 P\.\d P\.\d (resistance=2\.4ohm|open=yes) date=\d{4}-\d\d-\d\d instrument="bench meter"/m);
  assert.ok((await page.locator(".face .mark.known").count()) >= 2, "the picture has filled in");
  await page.getByRole("button", { name: "Write them into the sheet" }).click();
  for (let wait = 0; wait < 100 && !/^element P\./m.test(other.text()); wait++) await page.waitForTimeout(50);
  assert.match(other.text(), /^element P\./m);
  assert.match(other.text(), /^pin P\.1 .*evidence=measured/m);
  assert.deepEqual(await breaches(page), []);
  clean(page);
  await page.context().close();
  await other.end();
});
