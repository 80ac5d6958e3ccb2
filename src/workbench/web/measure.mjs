// What a meter shows: read from what is typed, held against what it should be, written as a record.
import { later, t } from "./words.mjs";

/** Units to choose from: as shown, as written in the sheet, factor. */
export const units = {
  resistance: [["ohm", "ohm", 1], ["kohm", "kohm", 1e3], ["Mohm", "Mohm", 1e6]],
  volts: [["V", "V", 1], ["mV", "mV", 1e-3]],
  current: [["A", "A", 1], ["mA", "mA", 1e-3]],
};
export const asks = { resistance: later("ohms"), volts: later("volts"), current: later("amperes") };

/** {open: true}, {value, written}, or null when it is no reading. Point or comma. */
export function readTyped(text, measures, unit) {
  const plain = text.trim().replace(/\u2212/g, "-").replace(",", ".");
  if (plain === t("open") || /^(open|ol|o\.l\.?|0l|inf|\u221e)$/i.test(plain)) return measures === "resistance" ? { open: true } : null;
  const found = /^([+-]?(?:\d+\.?\d*|\.\d+))\s*([a-z\u03a9\u2126]*)$/i.exec(plain);
  if (!found) return null;
  const written = found[2].replace(/[\u03a9\u2126]/, "ohm");
  const own = written === "" ? units[measures].find((each) => each[1] === unit) : units[measures].find(([, word]) => word === written || (measures === "resistance" && word === `${written}ohm`));
  if (!own || (measures === "resistance" && found[1].startsWith("-"))) return null;
  const digits = found[1].replace(/^\+/, "").replace(/^(-?)\./, "$10.").replace(/\.$/, "");
  return { value: Number(digits) * own[2], written: `${digits}${own[1]}` };
}

const shown = (value, measures) => {
  const [name, , factor] = [...units[measures]].reverse().find((each) => Math.abs(value) >= each[2]) ?? (measures === "resistance" ? units.resistance[0] : units[measures][1]);
  return `${Number((value / factor).toPrecision(3))} ${name}`;
};

/** {grade: "good" | "bad" | "noted", words}. `lead`: ohms of the leads. */
export function judge(step, found, lead = 0) {
  const { measures, low, high, open } = step;
  if (found.open) return open ? { grade: "good", words: t("In order: no connection, as it should be.") } : low === null && high === null ? { grade: "noted", words: t("Noted: open.") } : { grade: "bad", words: t("Not in order: there should be a connection.") };
  if (open && low === null) return { grade: "bad", words: t("Not in order: there should be no connection.") };
  if (low === null && high === null) return { grade: "noted", words: t("Noted. The sheet says no range for it.") };
  const value = measures === "resistance" ? Math.max(0, found.value - lead) : measures === "current" ? Math.abs(found.value) : found.value;
  const span = low === null ? t("at most {high}", { high: shown(high, measures) }) : high === null ? t("at least {low}", { low: shown(low, measures) })
    : t("{low} to {high}", { low: shown(low, measures), high: shown(high, measures) });
  const read = measures === "resistance" && lead > 0 ? t("{value} without the leads", { value: shown(value, measures) }) : shown(value, measures);
  if (measures === "volts" && value < -0.2 && low >= 0) return { grade: "bad", words: t("Not in order: the minus sign says that plus and minus are exchanged, of the leads or of the wires.") };
  if (low !== null && value < low) return { grade: "bad", words: t("Too low: {read}, should be {span}.", { read, span }) };
  if (high !== null && value > high) return { grade: "bad", words: t("Too high: {read}, should be {span}.", { read, span }) };
  return { grade: "good", words: t("In order: {read}, should be {span}.", { read, span }) };
}

/** A text as it may stand between quotes in a sheet. */
export const quoted = (text) => `"${String(text).replace(/["\u201c\u201d]/g, "'").replace(/\\/g, "/").replace(/[\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028\u2029\ufeff]+/g, " ").replace(/\s+/g, " ").trim().slice(0, 300)}"`;
const said = (key, text) => (text?.trim() ? ` ${key}=${quoted(text)}` : "");

/** Today, where the phone is. */
export const today = () => { const now = new Date(); return new Date(now - now.getTimezoneOffset() * 60000).toISOString().slice(0, 10); };

/** `reading` of a step with pins. */
export function readingText({ name, step, found, lead, by, instrument, date, words }) {
  const value = found.open ? "open=yes" : `${step.measures}=${found.written}`;
  const leads = step.measures === "resistance" && !found.open && lead !== null && lead !== undefined ? ` lead=${lead}ohm` : "";
  return `reading ${name} ${step.red} ${step.black} ${value}${leads} date=${date}${said("by", by)}${said("instrument", instrument)}${words ? ` ${quoted(words)}` : ""}${step.when ? ` when ${step.when}` : ""}`;
}

/** `tick` of a step without. */
export const tickText = ({ name, good, found, by, instrument, date, words }) =>
  `tick ${name}${good ? "" : " result=bad"}${said("found", found)} date=${date}${said("by", by)}${said("instrument", instrument)} ${quoted(words)}`;

/** A short name that is the same on every device for the same step: FNV-1a. */
export function nameFor(prefix, text) {
  let sum = 0x811c9dc5;
  for (const letter of text) sum = Math.imul(sum ^ letter.codePointAt(0), 0x01000193) >>> 0;
  return `${prefix}-${sum.toString(36).padStart(7, "0")}`;
}
