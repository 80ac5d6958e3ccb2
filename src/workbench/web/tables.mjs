// The records as tables: walked and filled by keys, pasted into from a spreadsheet, copied back.
import { recordText } from "./form.mjs";
import { button, make, refill } from "./make.mjs";
import { readRows, writeRows } from "./spread.mjs";
import { later, t } from "./words.mjs";

const ROW = 40; // px, as in write.css
const first = ["wire", "pin", "part", "element", "run", "place", "need", "reading"];
let state = { kind: "wire", more: new Map() }, ends = [];

const nameColumn = { key: "name", help: "" };
const textColumn = { key: "text", help: "" };

/** Name, values in order, keys that some record has or that were asked for, free text. */
function columnsOf(kind, records) {
  const used = new Set(records.flatMap((record) => Object.keys(record.values)));
  const asked = state.more.get(kind.word) ?? new Set();
  return [...(kind.naming === "not" ? [] : [nameColumn]),
    ...kind.fields.filter(({ place }) => place > 0).sort((a, b) => a.place - b.place),
    ...kind.fields.filter(({ key, place }) => !(place > 0) && (used.has(key) || asked.has(key))),
    ...(kind.text ? [textColumn] : [])];
}

const cellText = (record, { key }) => (key === "name" ? record.name : key === "text" ? record.text : record.values[key]) ?? "";
const who = (record) => (record.name ? { kind: record.kind, name: record.name, variant: record.variant ?? 0 } : { index: record.index });

class Table {
  constructor(desk, kind) {
    this.desk = desk;
    this.kind = kind;
    this.at = [0, 0];
    this.from = [0, 0];
    this.body = make("div", { role: "grid", class: "grid", tabindex: "-1", "aria-label": t("{kind} records", { kind: kind.word }), "aria-multiselectable": "true" });
    this.scroller = make("div", { class: "rows", onscroll: () => this.draw() }, this.body);
    this.body.addEventListener("keydown", (event) => this.key(event));
    this.body.addEventListener("mousedown", (event) => this.press(event));
    this.body.addEventListener("dblclick", () => this.type());
    this.body.addEventListener("copy", (event) => this.copy(event));
    this.body.addEventListener("paste", (event) => { if (this.box) return; event.preventDefault(); this.paste(event.clipboardData.getData("text/plain")); });
    this.watch = new ResizeObserver(() => this.draw());
    this.watch.observe(this.scroller);
    this.take();
  }

  take() {
    this.records = this.desk.job.records.filter(({ kind }) => kind === this.kind.word);
    this.columns = columnsOf(this.kind, this.records);
    this.at = [Math.min(this.at[0], this.records.length), Math.min(this.at[1], this.columns.length - 1)];
    this.from = [...this.at];
    this.shown = null;
    this.draw();
  }

  get picked() {
    const [top, bottom] = [this.at[0], this.from[0]].sort((a, b) => a - b), [left, right] = [this.at[1], this.from[1]].sort((a, b) => a - b);
    return { top, bottom, left, right };
  }

  // Only rows in sight are elements; one empty row at the end takes what is new.
  draw() {
    if (this.box) return;
    const n = this.records.length + 1, height = this.scroller.clientHeight || 600;
    const begin = Math.max(0, Math.floor(this.scroller.scrollTop / ROW) - 6), end = Math.min(n, begin + Math.ceil(height / ROW) + 12);
    const { top, bottom, left, right } = this.picked;
    const now = [begin, end, top, bottom, left, right, this.at.join()].join(" ");
    if (now === this.shown) return;
    this.shown = now;
    const held = this.body.contains(document.activeElement);
    const cell = (row, column) => make("div", { role: "gridcell", "aria-colindex": column + 1, "data-row": row, "data-column": column,
      "aria-selected": String(row >= top && row <= bottom && column >= left && column <= right), tabindex: row === this.at[0] && column === this.at[1] ? "0" : "-1" },
    row < this.records.length ? cellText(this.records[row], this.columns[column]) : column === 0 ? t("new") : "");
    const line = (row) => make("div", { role: "row", "aria-rowindex": row + 2, class: row === this.records.length ? "fresh" : row % 2 ? "odd" : "" }, this.columns.map((_, column) => cell(row, column)));
    this.body.setAttribute("aria-rowcount", n + 1);
    this.body.setAttribute("aria-colcount", this.columns.length);
    const lead = make("div", { class: "lead" }), tail = make("div", { class: "lead" });
    refill(this.body, make("div", { role: "row", "aria-rowindex": 1, class: "heads" }, this.columns.map(({ key, help }, column) =>
      make("div", { role: "columnheader", "aria-colindex": column + 1, title: help || null }, key))), lead,
    Array.from({ length: Math.max(0, end - begin) }, (_, i) => line(begin + i)), tail);
    this.body.style.setProperty("--columns", this.columns.length);
    lead.style.height = `${begin * ROW}px`;
    tail.style.height = `${Math.max(0, n - end) * ROW}px`;
    if (held) this.cellAt()?.focus({ preventScroll: true });
  }

  cellAt() { return this.body.querySelector(`[data-row="${this.at[0]}"][data-column="${this.at[1]}"]`); }

  go(row, column, spread = false) {
    this.at = [Math.max(0, Math.min(row, this.records.length)), Math.max(0, Math.min(column, this.columns.length - 1))];
    if (!spread) this.from = [...this.at];
    const top = this.at[0] * ROW, head = ROW, sight = this.scroller.clientHeight - head;
    if (top < this.scroller.scrollTop) this.scroller.scrollTop = top;
    else if (top + ROW > this.scroller.scrollTop + sight) this.scroller.scrollTop = top + ROW - sight;
    this.draw();
    const cell = this.cellAt();
    cell?.focus({ preventScroll: true });
    cell?.scrollIntoView({ block: "nearest", inline: "nearest" });
  }

  press(event) {
    const cell = event.target.closest("[role=gridcell]");
    if (!cell || this.box?.parentNode === cell) return;
    event.preventDefault();
    this.put(() => this.go(Number(cell.dataset.row), Number(cell.dataset.column), event.shiftKey));
  }

  key(event) {
    if (this.box) return;
    const [row, column] = this.at, { shiftKey: spread } = event, strong = event.ctrlKey || event.metaKey;
    const page = Math.max(1, Math.floor(this.scroller.clientHeight / ROW) - 2);
    const moves = { ArrowUp: [row - 1, column], ArrowDown: [row + 1, column], ArrowLeft: [row, column - 1], ArrowRight: [row, column + 1],
      PageUp: [row - page, column], PageDown: [row + page, column], Home: [strong ? 0 : row, 0], End: [strong ? this.records.length : row, this.columns.length - 1] };
    if (moves[event.key]) this.go(...moves[event.key], spread);
    else if (strong && event.key.toLowerCase() === "a") { this.at = [this.records.length - 1, this.columns.length - 1]; this.from = [0, 0]; this.draw(); this.cellAt()?.focus({ preventScroll: true }); }
    else if (event.key === "Enter" || event.key === "F2") this.type();
    else if (event.key === "Delete" || event.key === "Backspace") this.clear();
    else if (event.key.length === 1 && !strong && !event.altKey) this.type(event.key);
    else return;
    event.preventDefault();
  }

  /** A box in the cell; Enter takes it and goes on below, Tab beside, Escape leaves the value as it was. */
  type(begun = null) {
    const cell = this.cellAt(), [row, column] = this.at;
    if (!cell) return;
    const was = row < this.records.length ? cellText(this.records[row], this.columns[column]) : "";
    if (row < this.records.length && this.columns[column].key === "name") return this.desk.say(t("A name is changed in the text, where all that names it is changed, too."));
    this.box = make("input", { value: begun ?? was, "aria-label": t("{key} of {name}", { key: this.columns[column].key, name: this.records[row]?.name ?? t("a new record") }), autocomplete: "off", spellcheck: "false" });
    const end = (take, to) => {
      const value = this.box?.value.trim();
      if (!this.box) return;
      this.box = null;
      this.shown = null;
      this.draw();
      if (to) this.go(...to);
      if (take && value !== was) this.fill([[value]], row, column);
    };
    this.end = end;
    this.box.addEventListener("keydown", (event) => {
      event.stopPropagation();
      const to = { Enter: [row + 1, column], Tab: [row, column + (event.shiftKey ? -1 : 1)] }[event.key];
      if (to) { event.preventDefault(); end(true, to); } else if (event.key === "Escape") end(false, [row, column]);
    });
    this.box.addEventListener("blur", () => end(true));
    refill(cell, this.box);
    this.box.focus();
    if (begun === null) this.box.select();
  }

  put(after) { if (this.box) this.end(true); after(); }

  copy(event) {
    if (this.box) return;
    event.preventDefault();
    event.clipboardData.setData("text/plain", this.text());
  }

  text(whole = false, mark = "\t") {
    const { top, bottom, left, right } = whole ? { top: 0, bottom: this.records.length - 1, left: 0, right: this.columns.length - 1 } : this.picked;
    const columns = this.columns.slice(left, right + 1), rows = this.records.slice(top, bottom + 1).map((record) => columns.map((column) => cellText(record, column)));
    return writeRows(whole ? [columns.map(({ key }) => key), ...rows] : rows, mark);
  }

  /** Heads in the first row say which columns; a name in them says which records. Else it goes in at the cell. */
  paste(text) {
    const rows = readRows(text);
    if (rows.length === 0) return;
    const keys = new Set(["name", "text", ...this.kind.fields.map(({ key }) => key)]);
    const headed = rows[0].length > 1 && rows[0].every((value) => keys.has(value.trim()));
    if (!headed) return this.fill(rows, ...this.picked && [this.picked.top, this.picked.left]);
    const heads = rows[0].map((value) => value.trim());
    const find = new Map(this.records.map((record) => [record.name, record]));
    const edits = rows.slice(1).flatMap((row) => {
      const values = Object.fromEntries(heads.map((key, i) => [key, (row[i] ?? "").trim()]));
      const record = values.name === undefined ? undefined : find.get(values.name);
      return record ? this.settings(record, values) : this.addition(values);
    });
    return this.save(edits, t("{n} rows pasted", { n: rows.length - 1 }));
  }

  settings(record, values) {
    return Object.entries(values).flatMap(([key, value]) => (key === "name" || value === cellText(record, { key }) ? []
      : [{ do: "set", record: who(record), key, value: value === "" ? null : value }]));
  }

  addition(values) {
    const { name = "", text = "", ...rest } = values;
    if (name === "" && Object.values(rest).every((value) => value === "")) return [];
    return [{ do: "add", text: recordText(this.kind, name, rest, text) }];
  }

  fill(rows, top, left) {
    const fresh = [], edits = [];
    rows.forEach((row, i) => {
      const values = Object.fromEntries(row.map((value, k) => [this.columns[left + k]?.key, value.trim()]).filter(([key]) => key));
      const record = this.records[top + i];
      if (record) edits.push(...this.settings(record, values));
      else fresh.push(values);
    });
    if (rows.length === 1 && fresh.length === 1) return this.begin(fresh[0]);
    edits.push(...fresh.flatMap((values) => this.addition(values)));
    return this.save(edits, rows.length === 1 && rows[0].length === 1 ? t("{key} of {name}", { key: this.columns[left].key, name: this.records[top]?.name ?? this.kind.word }) : t("{n} rows pasted", { n: rows.length }));
  }

  /** The empty row: a form, since a record lacks most of its values after one cell. */
  begin(values) {
    const place = this.ask;
    refill(place, make("h3", null, t("New {kind}", { kind: this.kind.word })), this.desk.form(this.kind.word, null, () => place.replaceChildren()));
    const boxes = place.querySelectorAll("[data-key]");
    for (const box of boxes) if (values[box.dataset.key] !== undefined) box.querySelector("input, select").value = values[box.dataset.key];
    place.querySelector("input, select")?.focus();
    place.scrollIntoView({ block: "nearest" });
  }

  clear() {
    const { top, bottom, left, right } = this.picked, whole = left === 0 && right === this.columns.length - 1;
    const records = this.records.slice(top, bottom + 1);
    if (whole) return this.save(records.map((record) => ({ do: "remove", record: who(record) })), t("{n} records taken out", { n: records.length }));
    const keys = this.columns.slice(left, right + 1).map(({ key }) => key).filter((key) => key !== "name");
    return this.save(records.flatMap((record) => this.settings(record, Object.fromEntries(keys.map((key) => [key, ""])))), t("{keys} emptied", { keys: keys.join(", ") }));
  }

  async save(edits, what) {
    if (edits.length === 0) return;
    try {
      await this.desk.edit(edits, what);
      this.wrong.replaceChildren();
    } catch (error) {
      refill(this.wrong, make("p", { class: "error" }, t("Nothing was changed. {wrong} {remedy}", error)));
    }
  }

  leave() { this.watch.disconnect(); }
}

async function toClipboard(desk, text) {
  try {
    await navigator.clipboard.writeText(text);
    desk.say(t("Copied: {n} rows.", { n: text.split("\r\n").length - 2 }));
  } catch {
    desk.say(t("The browser does not let the page copy. Pick the cells and press Ctrl C."), { wrong: true });
  }
}

function saveFile(name, text) {
  const url = URL.createObjectURL(new Blob([text], { type: "text/csv" }));
  make("a", { href: url, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(url), 1000);
}

function tools(table, redraw) {
  const { desk, kind } = table;
  const missing = kind.fields.filter((field) => !table.columns.includes(field));
  const more = make("select", { "aria-label": t("One column more"), onchange: () => {
    const asked = state.more.get(kind.word) ?? new Set();
    state.more.set(kind.word, asked.add(more.value));
    redraw();
  } }, make("option", { value: "" }, t("One column more …")), missing.map(({ key }) => make("option", { value: key }, key)));
  const area = make("textarea", { rows: 4, "aria-label": t("Rows to put in"), placeholder: t("Paste rows here: tab, comma or semicolon between values. A first row of column names says which.") });
  return make("div", { class: "over" },
    make("div", { class: "acts" }, more,
      button(t("Copy for a spreadsheet"), () => toClipboard(desk, table.text(true))),
      button(t("Save as CSV"), () => saveFile(`${kind.word}.csv`, table.text(true, ","))),
      button(t("New {kind}", { kind: kind.word }), () => table.begin({}))),
    make("details", null, make("summary", null, t("Put rows in")), area, button(t("Put them in"), async () => { await table.paste(area.value); if (table.wrong.childElementCount === 0) area.value = ""; })));
}

export const view = {
  name: "tables",
  title: later("Tables"),
  show(place, desk, detail) {
    if (detail) state.kind = detail;
    let table = null;
    const body = make("div", { class: "written" });
    const draw = () => {
      const kinds = desk.schema?.kinds.filter(({ once }) => !once) ?? [];
      if (kinds.length === 0) return;
      const kind = kinds.find(({ word }) => word === state.kind) ?? kinds[0];
      const count = (word) => desk.job.records.filter((record) => record.kind === word).length;
      const order = [...kinds].sort((a, b) => (first.indexOf(a.word) + 99) % 99 - (first.indexOf(b.word) + 99) % 99);
      const pick = make("select", { id: "kind", onchange: () => { state.kind = pick.value; desk.go("tables", pick.value); } }, order.map(({ word }) => make("option", { value: word }, `${word} (${count(word)})`)));
      pick.value = kind.word;
      table?.leave();
      table = new Table(desk, kind);
      table.wrong = make("div", { role: "alert" });
      table.ask = make("div", { class: "narrow" });
      refill(body, make("div", { class: "over" }, make("h2", null, t("Tables")), make("div", { class: "pair" }, make("label", { for: "kind" }, t("Records:")), pick)), make("p", { class: "help" }, kind.help),
        tools(table, draw), table.wrong, table.scroller,
        make("p", { class: "help" }, t("Arrows walk; Enter or a letter types; Shift and arrows pick; Ctrl C and Ctrl V copy and paste; Delete empties, or takes out rows that are picked whole.")), table.ask);
      table.draw();
    };
    const update = () => {
      if (!table || table.box) return;
      const before = table.columns.map(({ key }) => key).join();
      table.take();
      if (table.columns.map(({ key }) => key).join() !== before) { const { at } = table; draw(); table.go(...at); }
    };
    ends = [desk.on("job", update), () => table?.leave()];
    place.append(body);
    draw();
  },
  leave() { ends.forEach((end) => end()); },
};
