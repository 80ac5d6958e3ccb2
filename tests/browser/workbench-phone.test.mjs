// The phone under the dash, in headless Chromium: entries outlive a lost connection and a reload, land in the file once, and conflicts are shown.
import assert from "node:assert/strict";
import test, { after } from "node:test";
import { breaches, browser, openWorkbench } from "./workbench-harness.mjs";

const bench = await openWorkbench("library-van-seat");
const home = new URL(bench.address).origin;
after(async () => { await bench.end(); await browser.close(); });

/** A phone that may look; its pages share what is kept. */
async function phone({ width = 390, height = 760, scheme = "light" } = {}) {
  const context = await browser.newContext({ viewport: { width, height }, colorScheme: scheme, hasTouch: true, isMobile: true });
  const page = await context.newPage();
  page.wrongs = [];
  page.on("pageerror", (error) => page.wrongs.push(String(error)));
  page.on("console", (message) => message.type() === "error" && !/ERR_INTERNET_DISCONNECTED|ERR_CONNECTION|Failed to load resource/.test(message.text()) && page.wrongs.push(message.text()));
  await page.goto(bench.address);
  await page.goto(`${home}/phone`);
  await page.waitForSelector("button.row:enabled");
  return { context, page };
}
const sends = (page, words) => page.waitForFunction((wanted) => document.getElementById("sends").textContent.includes(wanted), words, { timeout: 15000 });
const sheet = (page, title) => page.locator("button.row", { hasText: title }).click();
const press = (page, name) => page.getByRole("button", { name, exact: true }).click();
const lines = (kind) => bench.text().replace(/\n[ \t]+/g, " ").split("\n").filter((line) => line.startsWith(`${kind} `));

/** Goes on to the first step that asks for figures between two pins. */
async function toPins(page) {
  if (await page.getByRole("button", { name: "Go on" }).count() > 0) await press(page, "Go on");
  for (let i = 0; i < 200; i++) {
    await page.waitForSelector("h2");
    if (await page.locator("#value").count() > 0 && await page.locator(".leads dd:not(.words)").count() >= 2) return;
    await press(page, "Pass over");
  }
  assert.fail("no step asks for a reading between pins");
}

test("targets are large and low enough for one hand; axe-core finds nothing", async () => {
  for (const scheme of ["light", "dark"]) {
    const { context, page } = await phone({ scheme });
    const screens = [async () => {}, async () => sheet(page, "Before first power"), async () => press(page, "Go on"), async () => toPins(page)];
    for (const go of screens) {
      await go();
      assert.deepEqual(await breaches(page), []);
      const sizes = await page.locator("button, input, select, a").evaluateAll((all) => all.filter((each) => each.checkVisibility()).map((each) => { const { width, height } = (each.closest("label") ?? each).getBoundingClientRect(); return { words: each.textContent || each.id, width, height, main: each.matches(".main, footer button") }; }));
      for (const { words, width, height, main } of sizes) {
        assert.ok(width >= 48 && height >= 48, `${words}: ${width} x ${height} px`);
        if (main) assert.ok(height >= 64, `${words}: ${height} px high`);
      }
      assert.equal(await page.evaluate(() => document.documentElement.scrollWidth > innerWidth), false, "nothing lies beside the screen");
    }
    assert.ok((await page.locator("footer .main").boundingBox()).y > 760 * 0.8, "the main button lies where the thumb is");
    assert.equal(await page.locator("#value").getAttribute("inputmode"), "decimal");
    assert.deepEqual(page.wrongs, []);
    await context.close();
  }
});

test("a reading is judged at once and lands in the sheet with date and instrument", async () => {
  const { context, page } = await phone();
  await page.getByLabel("Which meter").fill("garage meter \"A\"");
  await page.getByLabel("Who measures").fill("Ada");
  await sheet(page, "Before first power");
  await toPins(page);
  await page.locator("#value").fill("0,1");
  assert.match(await page.locator(".judged").textContent(), /^In order/);
  await page.locator("#value").fill("47");
  assert.match(await page.locator(".judged").textContent(), /^Too high/);
  assert.match(await page.locator(".judged").getAttribute("class"), /bad/);
  const [red, black] = await page.locator(".leads dd:not(.words)").allTextContents();
  await page.locator("#value").fill("0,1");
  await press(page, "Keep");
  await sends(page, "All entries are in the sheet");
  const written = lines("reading").filter((line) => line.includes("resistance=0.1ohm"));
  assert.equal(written.length, 1);
  assert.ok(written[0].includes(` ${red} ${black} `));
  assert.match(bench.text(), /resistance=0\.1ohm[^]*?date=\d{4}-\d\d-\d\d by="Ada"\s+instrument="garage meter 'A'"/);
  await context.close();
});

test("what needs no figures is a tick in the sheet", async () => {
  const { context, page } = await phone();
  await sheet(page, "Before first power");
  if (await page.getByRole("button", { name: "All steps" }).count() > 0) await press(page, "All steps");
  await page.locator("button.row").nth(0).click();
  const what = await page.locator("h2").textContent();
  await press(page, "\u2713 As it should be");
  await sends(page, "All entries are in the sheet");
  assert.ok(bench.text().replace(/\s+/g, " ").includes(`"Before first power: ${what.replace(/\s+/g, " ")}"`));
  assert.ok(lines("tick").length >= 1);
  await context.close();
});

test("without a connection entries are kept, outlive a reload, and land in the file once", async () => {
  const { context, page } = await phone();
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null || navigator.serviceWorker.ready.then(() => true));
  await sheet(page, "Before first power");
  await toPins(page);
  await context.setOffline(true);
  for (const value of ["0.11", "0.12", "0.13"]) {
    await toPins(page);
    await page.locator("#value").fill(value);
    await press(page, "Keep");
  }
  await sends(page, "3 entries are kept on this phone");
  const before = bench.text();
  assert.ok(!before.includes("0.12ohm"));
  await page.reload();
  await sends(page, "3 entries are kept on this phone");
  await context.setOffline(false);
  await sends(page, "All entries are in the sheet");
  await page.reload();
  await sends(page, "All entries are in the sheet");
  for (const value of ["0.11", "0.12", "0.13"]) assert.equal(bench.text().split(`resistance=${value}ohm`).length - 1, 1, `${value} stands once`);
  assert.deepEqual(page.wrongs, []);
  await context.close();
});

test("an answer that is lost does not write twice", async () => {
  const { context, page } = await phone();
  let lost = 0;
  await page.route("**/job/edits", async (route) => { if (lost++ === 0) { await route.fetch(); await route.abort(); } else await route.continue(); });
  await sheet(page, "Before first power");
  await toPins(page);
  await page.locator("#value").fill("0.14");
  await press(page, "Keep");
  await sends(page, "All entries are in the sheet");
  assert.ok(lost >= 2, "it was sent again");
  assert.equal(bench.text().split("resistance=0.14ohm").length - 1, 1);
  await context.close();
});

test("two phones, one step: both values are shown, and the choice stands", async () => {
  const one = await phone(), two = await phone();
  for (const { page } of [one, two]) { await sheet(page, "Before first power"); await toPins(page); }
  assert.equal(await one.page.locator("h2").textContent(), await two.page.locator("h2").textContent());
  await two.context.setOffline(true);
  await one.page.locator("#value").fill("0.15");
  await press(one.page, "Keep");
  await sends(one.page, "All entries are in the sheet");
  await two.page.locator("#value").fill("0.16");
  await press(two.page, "Keep");
  await two.context.setOffline(false);
  await sends(two.page, "asks for your decision");
  assert.ok(bench.text().includes("0.15ohm") && !bench.text().includes("0.16ohm"), "nothing is overwritten unasked");
  await press(two.page, "Back");
  for (let i = 0; i < 200 && await two.page.getByRole("button", { name: /^Decide about/ }).count() === 0; i++) await press(two.page, "Back");
  await two.page.getByRole("button", { name: /^Decide about/ }).click();
  const both = await two.page.locator(".both").textContent();
  assert.match(both, /0\.15ohm/);
  assert.match(both, /0\.16ohm/);
  assert.deepEqual(await breaches(two.page), []);
  await press(two.page, "Write mine");
  await sends(two.page, "All entries are in the sheet");
  assert.ok(!bench.text().includes("0.15ohm") && bench.text().includes("0.16ohm"));
  await Promise.all([one.context.close(), two.context.close()]);
});

test("the search for a fault asks for the next measurement and takes the answer", async () => {
  const { context, page } = await phone();
  await sheet(page, "Find a fault");
  await page.waitForFunction(() => document.querySelector("h2").textContent === "What does not run?", null, { timeout: 120000 });
  await page.locator("button.row", { hasText: "M2" }).first().click();
  await page.waitForFunction(() => document.querySelector("h2").textContent.startsWith("Next: "), null, { timeout: 120000 });
  const first = await page.locator("h2").textContent();
  assert.ok((await page.locator("table tr").count()) > 1, "suspects are named");
  if (await page.locator("#value").count() > 0) { await page.locator("#value").fill("12.2"); await press(page, "Weigh it"); } else await press(page, "It runs");
  await page.waitForFunction((before) => document.querySelector("h2").textContent !== before && /^(Next: |Nothing)/.test(document.querySelector("h2").textContent), first, { timeout: 120000 });
  assert.equal(await page.locator("ol li").count(), 2, "both things seen are listed");
  assert.deepEqual(await breaches(page), []);
  assert.deepEqual(page.wrongs, []);
  await context.close();
});
