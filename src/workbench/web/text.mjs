// The sheet as text: errors stand at their lines while one types.
import { button, make, refill } from "./make.mjs";
import { later, t } from "./words.mjs";

let kept = null, ends = []; // what is typed and not yet saved: {edition, text}

function spotOf(text, line, column = 1) {
  let at = 0;
  for (let k = 1; k < line; k++) {
    const next = text.indexOf("\n", at);
    if (next < 0) return text.length;
    at = next + 1;
  }
  const end = text.indexOf("\n", at);
  return Math.min(at + column - 1, end < 0 ? text.length : end);
}

addEventListener("beforeunload", (event) => { if (kept) event.preventDefault(); });

export const view = {
  name: "text",
  title: later("Text"),
  show(place, desk, detail) {
    const area = make("textarea", { id: "sheet-text", spellcheck: "false", autocomplete: "off", autocapitalize: "off", wrap: "off", "aria-label": t("The sheet as text"), "aria-describedby": "text-problems" });
    const lines = make("div", { class: "lines", "aria-hidden": "true" });
    const wrong = make("div", { id: "text-problems", class: "problems", "aria-live": "polite" });
    const stand = make("p", { class: "help" });
    const save = button(t("Save"), () => keep(), { class: "main", "aria-keyshortcuts": "Control+S" });
    const drop = button(t("Leave what I typed"), () => { kept = null; read(); }, { class: "quiet" });
    let timer = 0, asked = 0, saved = "", edition = 0, bad = [];

    const number = () => {
      const n = area.value.split("\n").length, marks = new Set(bad.map(({ line }) => line));
      refill(lines, Array.from({ length: n }, (_, i) => make("span", marks.has(i + 1) ? { class: "bad" } : null, marks.has(i + 1) ? `\u25c6 ${i + 1}` : String(i + 1))));
      lines.scrollTop = area.scrollTop;
    };
    const jump = (line, column) => {
      const at = spotOf(area.value, line, column);
      area.focus();
      area.setSelectionRange(at, at);
      const height = parseFloat(getComputedStyle(area).lineHeight) || 20;
      area.scrollTop = Math.max(0, (line - 4) * height);
      lines.scrollTop = area.scrollTop;
    };
    const showProblems = (problems) => {
      bad = problems;
      refill(wrong, problems.length === 0 ? make("p", null, t("Reads well.")) : make("ol", null, problems.slice(0, 100).map((each) => make("li", null,
        button(t("line {line}", each), () => jump(each.line, each.column), { class: "link" }), " ", make("strong", null, each.what), " ", each.remedy))),
      problems.length > 100 ? make("p", null, t("and {n} more", { n: problems.length - 100 })) : null);
      number();
    };
    const status = () => {
      const open = area.value !== saved;
      kept = open ? { edition, text: area.value } : null;
      save.disabled = !open;
      drop.hidden = !open;
      refill(stand, open ? t("Not saved yet. Ctrl S saves.") : t("As saved."));
    };
    const check = async () => {
      const mine = ++asked;
      try {
        const { problems } = await desk.ask("/job/problems", { method: "POST", body: { text: area.value } });
        if (mine === asked) showProblems(problems);
      } catch (error) {
        if (mine === asked) refill(wrong, make("p", { class: "error" }, `${error.wrong} ${error.remedy}`));
      }
    };
    const typed = () => { status(); number(); clearTimeout(timer); timer = setTimeout(check, 150); };
    // The sheet may have been changed elsewhere while one typed, also unheard: both are put together, so it is read again.
    const keep = async () => {
      if (area.value === saved || area.readOnly) return;
      const { value: text, scrollTop, selectionStart } = area;
      area.readOnly = true;
      try {
        const made = await desk.edit([{ do: "text", text }], t("the text"), edition);
        if (made === null) return;
        kept = null;
        await read();
        area.setSelectionRange(selectionStart, selectionStart);
        area.scrollTop = scrollTop;
      } catch (error) {
        desk.say(`${error.wrong} ${error.remedy}`, { wrong: true });
      } finally {
        area.readOnly = false;
      }
    };
    const read = async () => {
      const text = await desk.askText("/job/text");
      edition = desk.job.edition;
      saved = text;
      area.value = text;
      status();
      showProblems(desk.job.problems);
    };
    const changed = () => {
      if (desk.job.edition === edition) return;
      if (area.value === saved) { const { scrollTop, selectionStart } = area; read().then(() => { area.scrollTop = scrollTop; area.setSelectionRange(selectionStart, selectionStart); }).catch(() => {}); } else refill(stand, t("The sheet was changed elsewhere meanwhile. Saving puts both together where it can."));
    };
    area.addEventListener("input", typed);
    area.addEventListener("scroll", () => { lines.scrollTop = area.scrollTop; });
    area.addEventListener("keydown", (event) => {
      event.stopPropagation(); // keys of the page are letters here
      if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s") { event.preventDefault(); keep(); }
    });
    ends = [desk.on("job", changed), () => clearTimeout(timer)];
    place.append(make("div", { class: "written text" }, make("div", { class: "over" }, make("h2", null, t("Text")), make("div", { class: "acts" }, stand, drop, save)),
      make("div", { class: "sheet-text" }, lines, area), wrong));
    const start = kept;
    read().then(() => {
      if (start) { area.value = start.text; edition = start.edition; typed(); }
      if (/^\d+$/.test(detail ?? "")) jump(Number(detail), 1);
    }).catch((error) => desk.say(`${error.wrong} ${error.remedy}`, { wrong: true }));
  },
  leave() { ends.forEach((end) => end()); },
};
