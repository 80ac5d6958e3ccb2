// Forms from the schema table: every field by its type, with its units, its help, and its errors beside it.
import { button, make, refill } from "./make.mjs";
import { everything } from "./slip.mjs";
import { t } from "./words.mjs";

const inks = { BK: "#26241f", BN: "#7a4a25", RD: "#c8281e", OG: "#e07b1a", YE: "#eecb2e", GN: "#2f8a45", BU: "#2c5fb3", VT: "#7b4a9e", GY: "#8a8a86", WH: "#ffffff", PK: "#eb9bb0", GD: "#c9a545", TQ: "#3aa9a4", SR: "#c4c7ca" };
const plainName = /^[\p{L}\p{N}_.+-]+$/u;
let made = 0;

const quoted = (words) => `"${words.replaceAll("\\", "\\\\").replaceAll('"', '\\"')}"`;

/** Names of a kind that stand in the sheet. */
const namesOf = (desk, kinds) => desk.job.records.filter(({ kind }) => kinds.includes(kind)).map(({ name }) => name);
const valuesOf = (desk, kind, key) => desk.job.records.filter((record) => record.kind === kind).map(({ values }) => values[key]).filter(Boolean);

function offers(desk, kind, field) {
  switch (field.type) {
    case "pin": return [...new Set([...Object.keys(desk.live?.pins ?? {}), ...namesOf(desk, ["pin"]), ...valuesOf(desk, "wire", "from"), ...valuesOf(desk, "wire", "to")])];
    case "item": return [...everything(desk).keys()];
    case "colour": return Object.keys(inks);
    case "size": return ["auto", "0.5mm2", "0.75mm2", "1mm2", "1.5mm2", "2.5mm2", "4mm2", "6mm2", "10mm2", "16mm2", "25mm2", "35mm2", "20AWG", "18AWG", "16AWG", "14AWG", "12AWG", "10AWG", "8AWG", "6AWG", "4AWG", "2AWG"];
    case "names": return namesOf(desk, { via: ["run"], without: ["wire", "part", "splice"] }[field.key] ?? []);
    case "state": return desk.job.inputs.flatMap(({ name, positions }) => positions.map((position) => `${name}=${position}`));
    case "name": return field.key === "at" || (kind === "run" && field.place > 0) ? namesOf(desk, ["place"]) : [...new Set(valuesOf(desk, kind, field.key))];
    default: return [];
  }
}

/** A value with its unit: a number box and the units that fit; whoever types the unit is not corrected. */
function quantityControl(id, field, value) {
  const parts = /^([-+]?[\d.,]+)\s*(\D.*)?$/.exec(value) ?? [];
  const plain = parts[1] !== undefined, extra = field.type === "auto" ? ["auto"] : [];
  const units = [...new Set([...(plain && parts[2] ? [parts[2]] : []), ...(field.units ?? []), ...extra])];
  const box = make("input", { id, value: plain ? parts[1] : value === "auto" ? "" : value, autocomplete: "off", inputmode: "decimal" });
  const unit = make("select", { "aria-label": t("unit of {key}", field) }, make("option", { value: "" }, t("unit?")), units.map((word) => make("option", { value: word }, word)));
  unit.value = value === "auto" ? "auto" : plain ? parts[2] ?? "" : units.length === 1 ? units[0] : "";
  const sync = () => { box.disabled = unit.value === "auto"; };
  unit.addEventListener("change", sync);
  sync();
  const read = () => unit.value === "auto" ? "auto" : /^[-+]?[\d.,]*$/.test(box.value.trim()) ? box.value.trim() && box.value.trim() + unit.value : box.value.trim();
  const check = () => unit.value !== "auto" && units.length > 0 && /^[-+]?[\d.,]+$/.test(read()) ? t("Say the unit: {units}.", { units: units.join(", ") }) : "";
  return { element: make("div", { class: "pair" }, box, unit), read, check };
}

function rangeControl(id, field, value) {
  const [low = "", high = ""] = value.split("..");
  const from = quantityControl(id, field, low), to = quantityControl(`${id}-to`, field, high);
  to.element.firstChild.setAttribute("aria-label", t("up to"));
  return { element: make("div", { class: "pair" }, from.element, make("span", null, t("to")), to.element),
    read: () => (to.read() === "" || to.read() === from.read() ? from.read() : `${from.read()}..${to.read()}`), check: () => from.check() || (to.read() ? to.check() : "") };
}

function gridControl(id, field, value) {
  const [rows = "", columns = ""] = value.split("x");
  const box = (own, number, label) => make("input", { id: own, value: number, inputmode: "numeric", size: "3", "aria-label": label });
  const a = box(id, rows, t("rows")), b = box(`${id}-columns`, columns, t("columns"));
  const read = () => (a.value.trim() || b.value.trim() ? `${a.value.trim()}x${b.value.trim()}` : "");
  return { element: make("div", { class: "pair" }, a, make("span", { "aria-hidden": "true" }, "\u00d7"), b), read, check: () => (read() === "" || /^\d+x\d+$/.test(read()) ? "" : t("Rows and columns, both as whole numbers.")) };
}

function wordControl(id, field, value) {
  const select = make("select", { id }, field.required ? null : make("option", { value: "" }, field.fallback ? t("left out: {fallback}", field) : t("left out")), (field.words ?? []).map((word) => make("option", { value: word }, word)));
  select.value = value;
  return { element: select, read: () => select.value, check: () => "" };
}

const checks = {
  count: (value) => (/^\d+$/.test(value) ? "" : t("A whole number.")),
  name: (value) => (plainName.test(value) ? "" : t("A name without spaces.")),
  pin: (value) => (/^[^\s"]+$/.test(value) ? "" : t("PART.PIN, such as F1.2.")),
  colour: (value) => (/^[A-Za-z]{2,3}(\/[A-Za-z]{2,3})?$/.test(value) ? "" : t("Letters such as RD or GN/BU.")),
  size: (value) => (/^(auto|[\d./]+\s*(mm2|AWG))$/i.test(value) ? "" : t("A size with its unit, such as 2.5mm2 or 14AWG, or auto.")),
  names: (value) => (/^[^\s,"]+(,[^\s,"]+)*$/.test(value) ? "" : t("Names with commas between, no spaces.")),
  limit: (value) => (/^\w+[<>]\S+$/.test(value) ? "" : t("Such as current<10mA or volts>11.5V.")),
  state: (value) => (/^[^\s=]+=[^\s=]+$/.test(value) ? "" : t("INPUT=position, such as KEY=on.")),
};

function lineControl(desk, kind, id, field, value) {
  const list = offers(desk, kind, field);
  const box = make("input", { id, value, autocomplete: "off", spellcheck: field.type === "text" ? null : "false", type: field.type === "date" ? "date" : "text",
    inputmode: field.type === "count" ? "numeric" : null, list: list.length > 0 ? `${id}-offers` : null });
  const swatch = field.type === "colour" ? make("span", { class: "swatch", "aria-hidden": "true" }, make("i"), make("i")) : null;
  const tint = () => {
    const [base, stripe] = box.value.toUpperCase().split("/");
    swatch.children[0].style.background = inks[base] ?? "transparent";
    swatch.children[1].style.background = inks[stripe] ?? inks[base] ?? "transparent";
  };
  if (swatch) { box.addEventListener("input", tint); tint(); }
  const read = () => box.value.trim();
  return { element: make("div", { class: "pair" }, box, swatch, list.length > 0 ? make("datalist", { id: `${id}-offers` }, list.map((offer) => make("option", { value: offer }))) : null),
    read, check: () => (read() === "" ? "" : checks[field.type]?.(read()) ?? "") };
}

function control(desk, kind, id, field, value) {
  switch (field.type) {
    case "word": return wordControl(id, field, value);
    case "quantity": case "auto": return quantityControl(id, field, value);
    case "range": return rangeControl(id, field, value);
    case "grid": return gridControl(id, field, value);
    default: return lineControl(desk, kind, id, field, value);
  }
}

function row(desk, kind, field, value) {
  const id = `field-${++made}`, made_ = control(desk, kind, id, field, value);
  const error = make("p", { class: "error", id: `${id}-error` }), box = made_.element.matches("input, select") ? made_.element : made_.element.querySelector("input, select");
  box.setAttribute("aria-describedby", `${id}-help ${id}-error`);
  if (field.required) box.setAttribute("aria-required", "true");
  const help = [field.help, field.fallback && field.type !== "word" ? t("left out: {fallback}", field) : "", field.units?.length > 1 ? field.units.join(", ") : ""].filter(Boolean).join(" · ");
  const say = (words) => { refill(error, words); box.setAttribute("aria-invalid", String(words !== "")); };
  const check = () => { const words = made_.read() === "" ? (field.required ? t("This is needed.") : "") : made_.check(); say(words); return words === ""; };
  // Late, so that nothing moves away under a finger that is on its way to a button.
  made_.element.addEventListener("change", () => setTimeout(check, 300));
  return { field, was: value, read: made_.read, check, say, box,
    element: make("div", { class: "row", "data-key": field.key }, make("label", { for: id }, field.label ?? field.key, field.required ? null : null), made_.element, make("small", { id: `${id}-help` }, help), error) };
}

// INPUT=position, any number of them.
function whenControl(desk, list) {
  const rows = make("div", { class: "whens" });
  const add = (value = "") => {
    const [input = "", position = ""] = value.split("=");
    const which = make("select", { "aria-label": t("input") }, make("option", { value: "" }, "–"), desk.job.inputs.map(({ name }) => make("option", { value: name }, name)));
    const where = make("select", { "aria-label": t("position") });
    const fill = () => refill(where, (desk.job.inputs.find(({ name }) => name === which.value)?.positions ?? []).map((word) => make("option", { value: word }, word)));
    if (input && !desk.job.inputs.some(({ name }) => name === input)) which.append(make("option", { value: input }, input));
    which.value = input;
    fill();
    if (position && ![...where.options].some(({ value: there }) => there === position)) where.append(make("option", { value: position }, position));
    where.value = position;
    which.addEventListener("change", fill);
    rows.append(make("div", { class: "pair" }, which, make("span", null, "="), where));
  };
  list.forEach((value) => add(value));
  const read = () => [...rows.children].map((pair) => pair.querySelectorAll("select")).filter(([which]) => which.value).map(([which, where]) => `${which.value}=${where.value}`);
  return { read, element: make("fieldset", { class: "row" }, make("legend", null, t("when")), rows, button(t("One condition more"), () => add())) };
}

function write(value, field) {
  return field.type === "text" ? quoted(value) : value;
}

/** A record as the sheet would have it; `values` by the schema's keys. */
export function recordText(kind, name, values, text = "", when = []) {
  const filled = kind.fields.filter(({ key }) => (values[key] ?? "") !== "");
  const inOrder = filled.filter(({ place }) => place > 0).sort((a, b) => a.place - b.place).map((field) => write(values[field.key], field));
  const named = filled.filter(({ place }) => !(place > 0)).map((field) => `${field.key}=${write(values[field.key], field)}`);
  return [kind.word, kind.naming === "not" ? null : kind.naming === "text" ? quoted(name) : name, ...inOrder, ...named, text ? quoted(text) : null, when.length > 0 ? `when ${when.join(" ")}` : null].filter((word) => word !== null && word !== "").join(" ");
}

const compose = (kind, name, rows, text, when) => recordText(kind, name, Object.fromEntries(rows.map(({ field, read }) => [field.key, read()])), text, when);

/** Which edits make the record say what the form says. */
function editsOf(kind, record, rows, name, text, when) {
  if (!record) return [{ do: "add", text: compose(kind, name, rows, text, when) }];
  const who = record.name ? { kind: record.kind, name: record.name, variant: record.variant ?? 0 } : { index: record.index };
  const changed = rows.filter((each) => each.read() !== each.was);
  const gone = changed.some((each) => each.read() === ""), whenWas = (record.when ?? []).join(" ");
  if (gone || when.join(" ") !== whenWas || (text === "" && record.text)) return [{ do: "replace", record: who, text: compose(kind, record.name, rows, text, when) }];
  const edits = changed.map(({ field, read }) => ({ do: "set", record: who, key: field.key, value: read() }));
  if (kind.text && text !== (record.text ?? "")) edits.push({ do: "set", record: who, key: "text", value: text });
  return edits;
}

const whatOf = (record, kind, name, edits) => !record ? t("new {kind} {name}", { kind: kind.word, name })
  : t("{keys} of {name}", { keys: edits.map(({ key }) => key).filter(Boolean).join(", ") || t("values"), name: record.name || record.kind });

/** A form for a record of that kind, or for a new one when `record` is null. `done(edition)` is called when it was saved or put away (null). */
export function form(desk, kindWord, record, done) {
  const kind = desk.schema?.kinds.find(({ word }) => word === kindWord);
  if (!kind) return make("p", null, t("There is no form for {kind}.", { kind: kindWord }));
  const values = record?.values ?? {}, { edition } = desk.job;
  const rows = kind.fields.map((field) => row(desk, kindWord, field, values[field.key] ?? ""));
  const nameRow = record || kind.naming === "not" ? null : row(desk, kindWord, { key: "name", label: t("name"), type: kind.naming === "text" ? "text" : kind.naming === "dotted" ? "pin" : kind.naming === "size" ? "size" : "name", required: true, help: kind.example ? t("as in: {example}", kind) : "" }, "");
  const textRow = kind.text ? row(desk, kindWord, { key: "text", label: t("in free words"), type: "text", help: t("what another person should know") }, record?.text ?? "") : null;
  const when = kind.when ? whenControl(desk, record?.when ?? []) : null;
  const first = rows.filter(({ field }) => field.required || field.place > 0 || values[field.key] !== undefined), rest = rows.filter((each) => !first.includes(each));
  const wrong = make("p", { class: "error", role: "alert" });

  const all = () => [nameRow, ...rows, textRow].filter(Boolean);
  const blame = (error) => {
    const named = all().find(({ field }) => error.answer?.key === field.key || error.wrong.includes(`\`${field.key}\``) || (error.answer?.key === undefined && error.wrong.split(/[^\w-]+/).includes(field.key)));
    const words = `${error.wrong} ${error.remedy}`.trim();
    if (!named) return void refill(wrong, words);
    named.say(words);
    named.element.closest("details")?.setAttribute("open", "");
    named.box.focus();
  };
  const save = async (event) => {
    event.preventDefault();
    refill(wrong);
    const bad = all().filter((each) => !each.check());
    if (bad.length > 0) { bad[0].element.closest("details:not(.try)")?.setAttribute("open", ""); bad[0].box.focus(); return; }
    const name = nameRow?.read() ?? record?.name ?? "";
    const edits = editsOf(kind, record, rows, name, textRow?.read() ?? "", when?.read() ?? []);
    if (edits.length === 0) return done?.(null);
    try { const saved = await desk.edit(edits, whatOf(record, kind, name, edits), edition); if (saved !== null) done?.(saved); } catch (error) { blame(error); }
  };
  const takeOut = async () => {
    try {
      const saved = await desk.edit([{ do: "remove", record: record.name ? { kind: record.kind, name: record.name, variant: record.variant ?? 0 } : { index: record.index } }], t("{name} taken out", { name: record.name || record.kind }), edition);
      if (saved !== null) done?.(saved);
    } catch (error) { blame(error); }
  };
  return make("form", { class: "record", novalidate: true, onsubmit: save },
    make("p", { class: "help" }, kind.help), nameRow?.element, first.map(({ element }) => element), textRow?.element, when?.element,
    rest.length > 0 ? make("details", null, make("summary", null, t("All that can be said ({n} more)", { n: rest.length })), rest.map(({ element }) => element)) : null,
    wrong, make("div", { class: "acts" }, make("button", { type: "submit", class: "main" }, t("Save")), button(t("Leave it"), () => done?.(null)),
      record ? button(t("Take it out"), takeOut, { class: "quiet" }) : null));
}
