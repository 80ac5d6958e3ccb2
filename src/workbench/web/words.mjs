// The page's words. English stands in the code; the language of the job is a table from the English to its own, here before
// any other module runs.
let table = {};
try {
  const { language, texts } = await (await fetch("/page/words.json")).json();
  document.documentElement.lang = language;
  table = texts;
} catch { /* without an answer the page speaks English */ }
for (const element of document.querySelectorAll("[data-t]")) element.textContent = t(element.textContent);

/** The text in the page's language; {name} in it is replaced by values.name. */
export function t(text, values) {
  const said = table[text] ?? text;
  return values ? said.replace(/\{(\w+)\}/g, (whole, key) => values[key] ?? whole) : said;
}

/** Marks a text that t() takes elsewhere. */
export const later = (text) => text;

/** A figure with three digits that count and its unit, as a person reads it. */
export function figure(value, unit) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  const size = Math.abs(value);
  if (size < 5e-4) return `0 ${unit}`;
  if (size < 0.9995 && (unit === "A" || unit === "V" || unit === "W")) return `${round(value * 1000)} m${unit}`;
  return `${round(value)} ${unit}`;
}
const round = (value) => (Math.abs(value) >= 99.95 ? Math.round(value) : Number(value.toPrecision(3))).toString().replace("-", "\u2212");

/** A temperature: whole degrees. */
export const degrees = (value) => (Number.isFinite(value) ? `${Math.round(value)} \u00b0C`.replace("-", "\u2212") : "–");
