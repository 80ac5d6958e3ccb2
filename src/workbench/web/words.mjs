// The page's words. English stands in the code; another language is a table from the English to its own.
const table = new Map();

/** Takes a language: {"English": "its own", ...}. */
export function learn(language, entries) {
  document.documentElement.lang = language;
  for (const [english, own] of Object.entries(entries)) table.set(english, own);
}

/** The text in the page's language; {name} in it is replaced by values.name. */
export function t(text, values) {
  const said = table.get(text) ?? text;
  return values ? said.replace(/\{(\w+)\}/g, (whole, key) => values[key] ?? whole) : said;
}

/** 1 danger, 2 dangers. */
export const count = (n, one, many) => t(n === 1 ? `{n} ${one}` : `{n} ${many}`, { n });

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
