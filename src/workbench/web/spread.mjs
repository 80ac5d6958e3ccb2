// Rows that come and go as text: comma, semicolon or tab between values (RFC 4180 for the quotes).
const marks = ["\t", ";", ","];

/** The mark between values: the one that the first line has most of, outside quotes. */
function markOf(text) {
  const line = /^(?:"(?:[^"]|"")*"|[^\r\n])*/.exec(text)[0].replace(/"(?:[^"]|"")*"/g, "");
  const often = marks.map((mark) => line.split(mark).length);
  return marks[often.indexOf(Math.max(...often))];
}

/** Rows of values. A last empty line is no row. */
export function readRows(text) {
  const mark = markOf(text), rows = [[]];
  let value = "", quoted = false;
  const next = () => { rows.at(-1).push(value); value = ""; };
  for (let i = 0; i < text.length; i++) {
    const letter = text[i];
    if (quoted) {
      if (letter !== '"') value += letter;
      else if (text[i + 1] === '"') value += text[++i];
      else quoted = false;
    } else if (letter === '"' && value === "") quoted = true;
    else if (letter === mark) next();
    else if (letter === "\n") { next(); rows.push([]); }
    else if (letter !== "\r") value += letter;
  }
  if (value !== "" || rows.at(-1).length > 0) next();
  else rows.pop();
  return rows;
}

const field = (value, mark) => (value.includes(mark) || /["\r\n]/.test(value) ? `"${value.replaceAll('"', '""')}"` : value);

/** Text of rows, for a spreadsheet (tab) or a file (comma). */
export const writeRows = (rows, mark = "\t") => rows.map((row) => row.map((value) => field(value ?? "", mark)).join(mark)).join("\r\n") + "\r\n";
