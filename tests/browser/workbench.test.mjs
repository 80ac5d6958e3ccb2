// The workbench in headless Chromium: the diagram obeys the hands, edits land in the file, a hostile sheet stays text.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test, { after } from "node:test";
import { breaches, browser, openWorkbench, settled } from "./workbench-harness.mjs";

const seat = await openWorkbench("library-van-seat"), flawed = await openWorkbench("library-van-seat-flawed");
after(async () => { await Promise.all([seat.end(), flawed.end()]); await browser.close(); });

const turn = async (page, input, position) => { await page.locator(`.hand[data-input="${input}"] label`, { has: page.locator(`input[value="${position}"]`) }).click(); };
const drawnThings = (page) => page.waitForSelector(".sheet [data-wire]");
const clean = (page) => { assert.deepEqual(page.wrongs, []); assert.deepEqual(page.strangers, []); };

test("the first look: title, verdict, diagram, hands and what to do next", async () => {
  const page = await seat.page();
  await drawnThings(page);
  assert.match(await page.locator("h1").textContent(), /library van/);
  await page.waitForFunction(() => document.querySelector("#head .verdict").textContent !== "");
  assert.match(await page.locator("#head .next").textContent(), /Next: /);
  assert.ok(await page.locator(".hand[data-input=KEY]").isVisible());
  clean(page);
  await page.context().close();
});

test("turning the key changes what is drawn, and back", async () => {
  const page = await seat.page();
  await drawnThings(page);
  const blade = () => page.locator('.sheet [data-element="K1.make"] path').evaluateAll((paths) => paths.map((path) => path.getAttribute("d")).join());
  await page.waitForFunction(() => document.querySelector(".sheet .live"));
  const rest = await page.locator(".sheet .carries").count(), open = await blade();
  await turn(page, "KEY", "on");
  await turn(page, "SW2", "a");
  await settled(page, "SW2=a");
  assert.ok((await page.locator(".sheet .carries").count()) > rest + 5);
  assert.match(await page.locator('.sheet [data-wire="W6"]').first().getAttribute("class"), /carries/);
  assert.match(await page.locator('.sheet [data-element="M2.motor"]').getAttribute("class"), /runs/);
  assert.notEqual(await blade(), open, "the relay's contact moves");
  assert.match(page.url(), /KEY=on/);
  await page.getByRole("button", { name: "All at rest" }).click();
  await page.waitForFunction(() => !document.querySelector('.sheet [data-wire="W6"].carries'));
  assert.equal(await page.locator(".sheet .carries").count(), rest);
  assert.equal(await blade(), open);
  clean(page);
  await page.context().close();
});

test("what is tapped tells its figures, and its fault can be put in and taken out", async () => {
  const page = await seat.page({ at: "diagram?KEY=on&SW2=a" });
  await drawnThings(page);
  await page.locator('.sheet [data-wire="W6"]').first().dispatchEvent("click");
  await page.waitForSelector(".slip .figures dd");
  assert.match(await page.locator(".slip h2").textContent(), /wire W6/);
  assert.match(await page.locator(".slip .figures").first().textContent(), /\d A/);
  await page.getByText("What if it breaks?").click();
  await page.locator(".faults button").first().click();
  await page.waitForSelector(".notice.fault");
  assert.ok((await page.locator(".frame.broken").count()) > 0, "the fault is marked on the drawing");
  await page.getByRole("button", { name: "Take the fault out" }).click();
  await page.waitForFunction(() => !document.querySelector(".notice.fault") && !document.querySelector(".frame.broken"));
  clean(page);
  await page.context().close();
});

test("by keys alone: walk along the drawing, choose, put away", async () => {
  const page = await seat.page();
  await drawnThings(page);
  await page.keyboard.press("d");
  const at = () => page.evaluate(() => JSON.stringify({ ...document.activeElement.dataset }));
  const first = await at();
  await page.keyboard.press("ArrowRight");
  assert.notEqual(await at(), first);
  await page.waitForSelector(".frame.focused");
  await page.keyboard.press("Enter");
  await page.waitForSelector(".slip.chosen");
  await page.keyboard.press("Escape");
  await page.waitForSelector(".slip:not(.chosen)");
  await page.keyboard.press("?");
  await page.waitForSelector("dialog[open] kbd");
  await page.keyboard.press("Escape");
  await page.waitForFunction(() => !document.querySelector("dialog"));
  clean(page);
  await page.context().close();
});

test("figures beside, and back to what was drawn", async () => {
  const page = await seat.page({ at: "diagram?KEY=on&SW2=a" });
  await drawnThings(page);
  await settled(page, "SW2=a");
  const words = () => page.locator('.sheet [data-wire="W6"] text').allTextContents();
  const before = await words();
  await page.locator("button.figures").click();
  assert.match((await words()).join(" "), /\d A/);
  await page.locator("button.figures").click();
  assert.deepEqual(await words(), before);
  await page.context().close();
});

test("a size set in the form lands in the file; taken back and done again", async () => {
  const bench = await openWorkbench("library-van-seat");
  const page = await bench.page({ at: "diagram/wire/W7" });
  await page.getByText("Change wire W7").click();
  const size = page.locator('.slip .row[data-key="size"] input');
  await size.fill("4");
  await page.getByRole("button", { name: "Save", exact: true }).click();
  assert.match(await page.locator('.slip .row[data-key="size"] .error').textContent(), /unit/);
  assert.match(bench.text(), /^wire W7 .* auto /m);
  await size.fill("4mm2");
  await page.getByRole("button", { name: "Save", exact: true }).click();
  await page.waitForSelector("#said:not(:empty)");
  assert.match(bench.text(), /^wire W7 .* 4mm2 /m);
  await page.waitForFunction(() => /4 mm2/.test([...document.querySelectorAll('.sheet [data-wire="W7"]')].map((group) => group.textContent).join()));
  const before = bench.text();
  await page.locator("#head").getByRole("button", { name: /Take back:/ }).click();
  await page.waitForFunction(() => /Taken back/.test(document.getElementById("said").textContent));
  assert.match(bench.text(), /^wire W7 .* auto /m);
  await page.locator("#head").getByRole("button", { name: /Do again:/ }).click();
  await page.waitForFunction(() => /Done again/.test(document.getElementById("said").textContent));
  assert.equal(bench.text(), before);
  clean(page);
  await bench.end();
});

test("findings: a remedy is tried, applied, and the finding is gone", async () => {
  const bench = await openWorkbench("library-van-seat-flawed");
  const page = await bench.page({ at: "findings" });
  const card = page.locator('.finding[data-id^="fuse-above-wire"]').first();
  await card.waitFor();
  const id = await card.getAttribute("data-id"), before = bench.text();
  assert.match(await card.locator(".rests").textContent(), /\d/);
  await card.getByRole("button", { name: "Try remedies" }).click();
  const remedy = card.locator(".remedies button.main").first();
  await remedy.waitFor({ timeout: 60000 });
  await remedy.click();
  await page.waitForFunction((gone) => !document.querySelector(`[data-id="${CSS.escape(gone)}"]`), id);
  assert.notEqual(bench.text(), before);
  clean(page);
  await bench.end();
});

test("two pages write to one record: nothing is lost, both forms are shown, the writer decides", async () => {
  const bench = await openWorkbench("library-van-seat");
  const [one, two] = [await bench.page({ at: "diagram/wire/W7" }), await bench.page({ at: "diagram/wire/W7" })];
  for (const [page, size] of [[one, "4mm2"], [two, "6mm2"]]) { await page.getByText("Change wire W7").click(); await page.locator('.slip .row[data-key="size"] input').fill(size); }
  await one.getByRole("button", { name: "Save", exact: true }).click();
  await one.waitForSelector("#said:not(:empty)");
  await two.waitForFunction(() => /edition 2/.test(document.querySelector(".file").textContent));
  await two.getByRole("button", { name: "Save", exact: true }).click();
  const asked = two.locator("dialog[open]");
  assert.match(await asked.locator("pre").first().textContent(), /4mm2/);
  assert.match(await asked.locator("pre").last().textContent(), /6mm2/);
  assert.match(bench.text(), /^wire W7 .* 4mm2 /m);
  await asked.getByRole("button", { name: "Write mine over it" }).click();
  await two.waitForSelector("#said:not(:empty)");
  assert.match(bench.text(), /^wire W7 .* 6mm2 /m);
  await bench.end();
});

test("drawings are shown and saved", async () => {
  const page = await seat.page({ at: "drawings" });
  await page.waitForSelector(".sheet svg");
  for (const format of ["SVG", "PNG", "PDF"]) {
    const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("link", { name: format, exact: true }).click()]);
    const head = readFileSync(await download.path()).subarray(0, 200).toString("latin1");
    assert.match(head, { SVG: /<svg/, PNG: /PNG/, PDF: /%PDF/ }[format]);
  }
  clean(page);
  await page.context().close();
});

test("papers: a run with its progress, its files, and a stop", async () => {
  const page = await seat.page({ at: "papers" });
  await page.getByRole("button", { name: "Make the papers" }).click();
  const link = page.locator(".files a[download='packet.pdf']");
  await link.waitFor({ timeout: 60000 });
  const [download] = await Promise.all([page.waitForEvent("download"), link.click()]);
  assert.match(readFileSync(await download.path()).subarray(0, 5).toString(), /%PDF/);
  clean(page);
  await page.context().close();
});

test("a hostile sheet shows only text", async () => {
  const markup = `<img src=x onerror=alert(1)><script>alert(2)</script>`;
  const bench = await openWorkbench("hostile", { text: `job "${markup}" date=2026-10-17 nominal=12V ambient=-20C..40C
place dash temperature=-20C..60C where="${markup}"
part G1 battery-12 at=dash is=host capacity=80Ah cranking=680A "${markup}"
part S1 switch-on-off at=dash "javascript:alert(3)"
part E1 lamp at=dash power=5W "${markup}"
part XG1 ground at=dash
part F1 fuse-blade at=dash "${markup}"
wire W1 G1.+ F1.1 RD auto length=0.1m "${markup}"
wire W2 F1.2 S1.1 RD auto length=1m
wire W3 S1.2 E1.1 RD auto length=1m
wire W4 E1.2 XG1.1 BN auto length=1m
wire W5 G1.- XG1.1 BK 25mm2 length=0.4m is=host
need "${markup}" E1.lamp power>1W when S1=on
` });
  const page = await bench.page();
  page.on("dialog", (dialog) => { page.wrongs.push(`dialog ${dialog.message()}`); dialog.dismiss(); });
  await drawnThings(page);
  assert.equal(await page.locator("h1").textContent(), markup);
  await page.locator('.sheet [data-wire="W1"]').first().dispatchEvent("click");
  await page.waitForSelector(".slip .change summary");
  await page.locator(".slip .change summary").click();
  for (const view of ["findings", "drawings", "papers"]) { await page.evaluate((name) => { location.hash = name; }, view); await page.waitForTimeout(400); }
  assert.equal(await page.locator("img, script:not([src]), iframe, object, [onerror], [style*=url]").count(), 0);
  clean(page);
  await bench.end();
});

test("from a click to what is painted: a frame or two", async () => {
  const page = await seat.page();
  await drawnThings(page);
  for (const position of ["on", "off", "on", "off", "on", "off", "on", "off", "on", "off"]) { await turn(page, "KEY", position); await settled(page, position === "on" ? "KEY=on" : "rest"); await page.waitForTimeout(60); }
  const times = await page.evaluate(() => performance.getEntriesByName("turn to paint").map(({ duration }) => duration).slice(-10).sort((a, b) => a - b));
  assert.ok(times.length === 10 && times[0] < 250, `at best ${times[0]} ms`); // the best of ten: other work may share the machine; the median is printed
  console.log(`# turn to paint: median ${times[5].toFixed(1)} ms, longest ${times[9].toFixed(1)} ms`);
  await page.context().close();
});

for (const at of ["diagram?KEY=on&SW2=a", "diagram/wire/W6?KEY=on&SW2=a", "findings", "drawings", "papers"])
  for (const width of [390, 1280, 1920])
    for (const scheme of ["light", "dark"])
      test(`${at} at ${width} px, ${scheme}: accessible, no wider than the screen`, async () => {
        const page = await flawed.page({ width, height: width === 390 ? 844 : 900, scheme, at });
        if (at === "findings") await page.waitForSelector(".finding");
        else if (at !== "papers") await page.waitForSelector(".sheet svg");
        if (at.includes("W6")) { await page.waitForSelector(".slip .change summary"); await page.locator(".slip .change summary").click(); }
        assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= width);
        assert.deepEqual(await breaches(page), []);
        clean(page);
        await page.context().close();
      });
