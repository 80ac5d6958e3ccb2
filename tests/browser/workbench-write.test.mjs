// Writing in the workbench: tables, the text, a circuit by questions; a new job from nothing to its packet; two pages at once.
import assert from "node:assert/strict";
import { existsSync } from "node:fs";
import test, { after } from "node:test";
import { breaches, browser, openWorkbench } from "./workbench-harness.mjs";

const seat = await openWorkbench("library-van-seat");
after(async () => { await seat.end(); await browser.close(); });
const clean = (page) => { assert.deepEqual(page.wrongs, []); assert.deepEqual(page.strangers, []); };
const until = async (test_, what) => {
  for (let i = 0; i < 300; i++) { if (await test_()) return; await new Promise((settle) => setTimeout(settle, 50)); }
  assert.fail(`waited in vain: ${what}`);
};
const cell = (page, row, column) => page.locator(`.grid [data-row="${row}"][data-column="${column}"]`);
const saved = (bench, words) => until(() => words.test(bench.text()), `${words} in the file`);
async function paste(page, text) {
  await page.locator('.grid [tabindex="0"]').evaluate((element, words) => {
    const carried = new DataTransfer();
    carried.setData("text/plain", words);
    element.dispatchEvent(new ClipboardEvent("paste", { clipboardData: carried, bubbles: true, cancelable: true }));
  }, text);
}

test("a cell is typed into by keys alone and lands in its own record", async () => {
  const page = await seat.page({ at: "tables/wire" });
  await cell(page, 0, 0).click();
  const before = seat.text();
  const column = await page.locator(".grid [role=columnheader]").evaluateAll((heads) => heads.findIndex((head) => head.textContent === "size"));
  for (let i = 0; i < column; i++) await page.keyboard.press("ArrowRight");
  const was = await cell(page, 0, column).textContent(), name = await cell(page, 0, 0).textContent();
  await page.keyboard.type("35mm2");
  await page.keyboard.press("Enter");
  await saved(seat, new RegExp(`^wire ${name} .*35mm2`, "m"));
  const changed = before.split("\n").filter((line, i) => line !== seat.text().split("\n")[i]);
  assert.equal(changed.length, 1, "one line of the file changed");
  await page.getByRole("button", { name: /Take back/ }).click();
  await until(() => seat.text() === before, "the file as it was");
  await until(async () => (await cell(page, 0, column).textContent()) === was, "the cell as it was");
  clean(page);
  await page.context().close();
});

test("a wrong value is said, and nothing is changed", async () => {
  const page = await seat.page({ at: "tables/wire" }), before = seat.text();
  const column = await page.locator(".grid [role=columnheader]").evaluateAll((heads) => heads.findIndex((head) => head.textContent === "size"));
  await cell(page, 1, column).click();
  await page.keyboard.type("6mm");
  await page.keyboard.press("Enter");
  await page.waitForSelector(".written .error");
  assert.match(await page.locator(".written .error").textContent(), /Nothing was changed/);
  assert.equal(seat.text(), before);
  await page.context().close();
});

test("rows are copied and pasted back over their records", async () => {
  const page = await seat.page({ at: "tables/run" }), before = seat.text();
  await cell(page, 0, 0).click();
  await page.keyboard.press("Control+a");
  const copied = await page.locator('.grid [tabindex="0"]').evaluate((element) => {
    const carried = new DataTransfer();
    element.dispatchEvent(new ClipboardEvent("copy", { clipboardData: carried, bubbles: true, cancelable: true }));
    return carried.getData("text/plain");
  });
  assert.ok(copied.split("\r\n").length >= 3);
  const heads = await page.locator(".grid [role=columnheader]").allTextContents();
  const rows = copied.trimEnd().split("\r\n").map((row) => row.split("\t"));
  rows[0][heads.indexOf("length")] = "1.3m";
  await paste(page, [heads, ...rows].map((row) => row.join("\t")).join("\r\n"));
  await saved(seat, new RegExp(`^run ${rows[0][0]} .*1\\.3m`, "m"));
  assert.equal(before.split("\n").filter((line, i) => line !== seat.text().split("\n")[i]).length, 1);
  await page.getByRole("button", { name: /Take back/ }).click();
  await until(() => seat.text() === before, "the file as it was");
  await page.context().close();
});

test("5,000 rows are pasted, walked through and taken back", async () => {
  const own = await openWorkbench("rows", { text: 'job "Rows" nominal=12V\npart G battery-12 capacity=60Ah\n' });
  const page = await own.page({ at: "tables/place" }), before = own.text();
  await cell(page, 0, 0).click();
  const rows = Array.from({ length: 5000 }, (_, i) => `spot-${i}\t-20C..${40 + (i % 40)}C\tbehind panel ${i}`);
  await paste(page, ["name\ttemperature\twhere", ...rows].join("\n"));
  await saved(own, /^place spot-4999 /m);
  assert.equal(own.text().match(/^place /gm).length, 5000);
  await page.waitForFunction(() => document.querySelector(".grid")?.getAttribute("aria-rowcount") === "5002");
  assert.ok((await page.locator(".grid [role=row]").count()) < 120, "only rows in sight are elements");
  await cell(page, 0, 0).click();
  await page.keyboard.press("Control+End");
  await page.waitForFunction(() => document.activeElement?.dataset.row === "5000");
  await page.getByRole("button", { name: /Take back/ }).click();
  await until(() => own.text() === before, "the file as it was");
  clean(page);
  await page.context().close();
  await own.end();
});

test("errors stand at their lines while one types; saving, and two pages at once", async () => {
  const [page, other] = [await seat.page({ at: "text" }), await seat.page({ at: "tables/run" })], before = seat.text();
  const area = page.locator("#sheet-text");
  await page.waitForFunction(() => document.querySelector("#sheet-text").value !== "");
  await area.press("Control+End");
  await page.keyboard.type("wier W99 A.1 B.1 RD 1mm2\n");
  await page.waitForSelector(".problems li");
  assert.match(await page.locator(".problems").textContent(), /wier.*did you mean/s);
  assert.ok((await page.locator(".lines .bad").count()) === 1);
  for (let i = 0; i < 25; i++) await page.keyboard.press("Backspace");
  await page.keyboard.type('need "rests" G1.cell current<5A when KEY=off\n');
  await page.waitForFunction(() => document.querySelector(".problems").textContent === "Reads well.");
  // Meanwhile somebody else changes another record.
  await cell(other, 0, 0).click();
  const column = await other.locator(".grid [role=columnheader]").evaluateAll((heads) => heads.findIndex((head) => head.textContent === "length"));
  await cell(other, 0, column).click();
  await other.keyboard.type("1.4m");
  await other.keyboard.press("Enter");
  await saved(seat, /^run \S+ .*1\.4m/m);
  await area.focus();
  await page.keyboard.press("Control+s");
  await saved(seat, /need "rests"/);
  assert.match(seat.text(), /^run \S+ .*1\.4m/m, "the other's change stays");
  await page.waitForFunction(() => document.querySelector("#sheet-text").value.includes("1.4m"));
  await page.getByRole("button", { name: /Take back/ }).click();
  await until(() => !seat.text().includes('need "rests"'), "the text taken back");
  await page.getByRole("button", { name: /Take back/ }).click();
  await until(() => seat.text() === before, "all taken back");
  await Promise.all([page.context().close(), other.context().close()]);
});

test("a change that the page has not heard of when it saves is in its text afterwards", async () => {
  const page = await seat.page({ at: "text" }), before = seat.text();
  const area = page.locator("#sheet-text");
  await page.waitForFunction(() => document.querySelector("#sheet-text").value !== "");
  await page.route("**/news?*", () => {}); // no news comes any more
  const other = await seat.page({ at: "tables/run" });
  const column = await other.locator(".grid [role=columnheader]").evaluateAll((heads) => heads.findIndex((head) => head.textContent === "length"));
  await cell(other, 0, column).click();
  await other.keyboard.type("1.6m");
  await other.keyboard.press("Enter");
  await saved(seat, /^run \S+ .*1\.6m/m);
  await area.press("Control+End");
  await page.keyboard.type('need "unheard" G1.cell current<5A when KEY=off\n');
  await page.keyboard.press("Control+s");
  await saved(seat, /need "unheard"/);
  await page.waitForFunction(() => /^run \S+ .*1\.6m/m.test(document.querySelector("#sheet-text").value));
  assert.equal(await area.inputValue(), seat.text());
  assert.match(seat.text(), /need "unheard"/);
  for (let i = 0; i < 2; i++) await other.getByRole("button", { name: /Take back/ }).click();
  await until(() => seat.text() === before, "all taken back");
  await Promise.all([page.context().close(), other.context().close()]);
});

test("from nothing to a printed packet: a new job, a circuit by questions, the packet", async () => {
  const bench = await openWorkbench("nothing", { fresh: true });
  const page = await bench.page({ at: "circuit" });
  assert.match(bench.text(), /^job /m, "the sheet is begun");
  await page.locator("#q-load").selectOption("fan");
  await page.locator("#q-words").fill("roof fan");
  await page.waitForFunction(() => document.querySelector("#q-records").value.includes("roof fan"));
  await page.getByRole("button", { name: "Put them into the sheet" }).click();
  await saved(bench, /^part M1 fan .*"roof fan"/m);
  await page.waitForFunction(() => location.hash.startsWith("#diagram"));
  await page.waitForSelector('.sheet [data-element^="M1."]');
  await page.evaluate(() => { location.hash = "papers"; });
  await page.getByRole("button", { name: "Make the papers" }).click();
  await page.waitForFunction(() => [...document.querySelectorAll(".files a, .files button")].some((each) => each.closest("li").textContent.includes("packet.pdf")), null, { timeout: 60000 });
  assert.ok(existsSync(bench.file));
  clean(page);
  await page.context().close();
  await bench.end();
});

for (const scheme of ["light", "dark"])
  for (const width of [390, 1280, 1920])
    test(`tables, text and questions hold to the rules at ${width} px, ${scheme}`, async () => {
      const page = await seat.page({ width, height: 850, scheme });
      for (const view of ["tables/wire", "text", "circuit"]) {
        await page.evaluate((hash) => { location.hash = hash; }, view);
        await page.waitForSelector(".written");
        await page.waitForTimeout(300);
        assert.deepEqual(await breaches(page), [], view);
        assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${view} fits the width`);
        if (process.env.LG_SHOTS) await page.screenshot({ path: `${process.env.LG_SHOTS}/${view.replace(/\W/g, "-")}-${width}-${scheme}.png` });
      }
      clean(page);
      await page.context().close();
    });
