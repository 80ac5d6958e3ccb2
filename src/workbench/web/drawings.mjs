// The other drawings: plug faces, routes, board, labels. To look at, to print, to save.
import { drawn } from "./drawn.mjs";
import { button, make, refill } from "./make.mjs";
import { makeStage } from "./stage.mjs";
import { later, t } from "./words.mjs";

let ends = [], stage = null, asked = null;

function savers(drawing, sheet) {
  const at = `/drawings/${encodeURIComponent(drawing.name)}`;
  const link = (address, file, words) => make("a", { href: address, download: file, class: "press" }, words);
  return [make("span", null, t("Save sheet {sheet} as", { sheet })), ["svg", "png", "pdf"].map((format) => link(`${at}/${sheet}.${format}`, `${drawing.name}-${sheet}.${format}`, format.toUpperCase())),
    drawing.sheets > 1 ? link(`${at}.pdf`, `${drawing.name}.pdf`, t("all sheets as PDF")) : null];
}

async function open(desk, drawing, parts) {
  const mine = (asked = {});
  refill(parts.save);
  if (drawing.sheets === null && !drawing.wrong) { // counted when it is first drawn
    stage.bed.replaceChildren(make("p", { class: "wait" }, t("Drawing …")));
    try {
      await desk.askText(`/drawings/${encodeURIComponent(drawing.name)}/1.svg`);
      Object.assign(drawing, (await desk.ask("/drawings")).drawings.find(({ name }) => name === drawing.name));
    } catch (error) { drawing.wrong = error.wrong; }
    if (mine !== asked) return;
  }
  if (!drawing.sheets) { stage.bed.replaceChildren(make("p", { class: "wait" }, drawing.wrong ?? t("There is nothing to draw."))); return; }
  try {
    const sheets = await Promise.all(Array.from({ length: drawing.sheets }, (_, i) => desk.askText(`/drawings/${encodeURIComponent(drawing.name)}/${i + 1}.svg`)));
    if (mine !== asked) return;
    stage.lay(sheets.map((markup, i) => drawn(markup, t("{title}, sheet {i} of {n}", { title: drawing.title, i: i + 1, n: sheets.length }))));
    stage.whole();
    stage.root.scrollTo(0, 0);
  } catch (error) {
    if (mine === asked) stage.bed.replaceChildren(make("p", { class: "wait" }, `${error.wrong ?? error} ${error.remedy ?? ""}`));
    return;
  }
  let sheet = 1;
  const draw = () => refill(parts.save, drawing.sheets < 2 ? null : make("label", null, t("Sheet"), " ", make("select", { value: String(sheet), onchange: (event) => { sheet = Number(event.target.value); stage.show(sheet); draw(); } },
    Array.from({ length: drawing.sheets }, (_, i) => make("option", { value: String(i + 1), selected: i + 1 === sheet }, String(i + 1))))), savers(drawing, sheet),
  button(t("Print"), () => print()));
  draw();
}

export const view = {
  name: "drawings",
  title: later("Drawings"),
  show(place, desk, detail) {
    stage = makeStage(t("Drawing"));
    const list = make("ul", { class: "list" }), parts = { save: make("div", { class: "save" }), title: make("h2", null, t("Drawings")) };
    let drawings = [], name = detail.split("/")[0];
    const show = () => {
      const drawing = drawings.find((each) => each.name === name) ?? drawings.find((each) => each.name !== "diagram" && each.sheets > 0) ?? drawings[0];
      if (!drawing) return;
      name = drawing.name;
      refill(parts.title, drawing.title);
      refill(list, drawings.map((each) => make("li", null, make("button", { type: "button", "aria-pressed": String(each === drawing), onclick: () => { name = each.name; show(); } }, each.title,
        make("small", null, each.sheets === null ? "" : each.sheets > 0 ? each.sheets === 1 ? t("1 sheet") : t("{sheets} sheets", each) : each.wrong ?? t("nothing to draw"))))));
      stage.root.setAttribute("aria-label", drawing.title);
      open(desk, drawing, parts);
    };
    const read = async () => {
      try { ({ drawings } = await desk.ask("/drawings")); show(); } catch (error) { refill(list, make("li", null, `${error.wrong} ${error.remedy}`)); }
    };
    place.append(make("nav", { class: "choice", "aria-label": t("Drawings") }, list),
      make("section", { class: "middle" }, parts.title, parts.save, make("div", { class: "table" }, stage.root, stage.nearness)));
    ends = [desk.on("findings", read), stage.end];
    read();
  },
  leave() { asked = null; ends.forEach((end) => end()); },
};
