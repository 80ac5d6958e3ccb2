// What stands against building, the worst first: the reason, the numbers, the remedy, and remedies that were tried.
import { button, make, refill } from "./make.mjs";
import { later, t } from "./words.mjs";

const grades = [["danger", later("can burn or hurt")], ["fault", later("will not do what is needed")], ["unproven", later("rests on something not measured")], ["caution", later("works, but is poor practice")]];
let ends = [], proofs = new Map();

async function prove(desk, finding, place, press) {
  press.disabled = true;
  refill(place, make("p", null, t("Trying what could mend it …")));
  try {
    const { remedies } = await desk.ask("/findings/prove", { method: "POST", body: { finding: finding.id } });
    proofs.set(finding.id, remedies);
    showProofs(desk, finding, place);
  } catch (error) {
    refill(place, make("p", { class: "error" }, `${error.wrong} ${error.remedy}`));
  }
  press.disabled = false;
}

function showProofs(desk, finding, place) {
  const remedies = proofs.get(finding.id);
  if (!remedies) return;
  refill(place, remedies.length === 0 ? make("p", null, t("Nothing that can be tried by itself helps. It takes a hand: do as it says above.")) : make("ul", { class: "remedies" }, remedies.map((remedy) =>
    make("li", null, make("p", null, make("strong", null, remedy.words), " ", remedy.gone ? t("Checked again: it is gone.") : t("Checked again: it stays."),
      remedy.new?.length ? ` ${t("But new: {new}.", { new: remedy.new.map((each) => each.title ?? each.what ?? each).join("; ") })}` : remedy.gone ? ` ${t("Nothing new appears.")}` : ""),
      remedy.changes?.length ? make("ul", { class: "rests" }, remedy.changes.map((change) => make("li", null, change))) : null,
    button(t("Do this"), async (event) => {
      event.target.disabled = true;
      try { await desk.edit(remedy.edits, remedy.words); } catch (error) { desk.say(`${error.wrong} ${error.remedy}`, { wrong: true }); }
      event.target.disabled = false;
    }, { class: remedy.gone && !remedy.new?.length ? "main" : "" })))));
}

const shown = new Set(["wire", "pin", "part", "element"]);

function card(desk, finding) {
  const proof = make("div", { class: "proof", "aria-live": "polite" });
  const press = button(t("Try remedies"), () => prove(desk, finding, proof, press));
  const name = finding.where?.name ?? "", kind = finding.where?.kind ?? "";
  const record = desk.job.records.find((each) => each.kind === kind && each.name === name) ?? desk.job.records.find(({ index }) => index === finding.where?.record);
  const about = shown.has(kind) || !record ? { kind, name } : shown.has(record.kind) ? { kind: record.kind, name: record.name } : null;
  const change = make("details", { class: "try", ontoggle: (event) => {
    const place = event.target.lastChild;
    if (event.target.open && place.childElementCount === 0) place.append(desk.form(record.kind, record, () => { event.target.open = false; place.replaceChildren(); }));
  } }, make("summary", null, t("Change {kind} {name}", record ?? { kind, name })), make("div"));
  const element = make("article", { class: `finding ${finding.grade}`, "data-id": finding.id, tabindex: "-1" },
    make("h3", null, make("span", { class: `grade ${finding.grade}` }, t(finding.grade)), " ", finding.title, " ", make("span", { class: "who" }, `${kind} ${name}`)),
    make("p", { class: "what" }, finding.what), make("p", { class: "do" }, make("strong", null, t("Do: ")), finding.do),
    make("p", { class: "rests" }, t("Rests on: "), finding.rests),
    make("div", { class: "acts" }, about?.name ? button(t("Show it in the diagram"), () => desk.go("diagram", `${about.kind}/${about.name}`)) : null, press,
      finding.where?.line && desk.views.some((view) => view.name === "text") ? button(t("Line {line}", finding.where), () => desk.go("text", String(finding.where.line)), { class: "quiet" }) : null),
    proof, record && desk.schema?.kinds.some(({ word }) => word === record.kind) ? change : null);
  showProofs(desk, finding, proof);
  return element;
}

export const view = {
  name: "findings",
  title: later("Findings"),
  show(place, desk, detail) {
    const body = make("div", { class: "findings" });
    let first = true;
    const draw = () => {
      const { findings } = desk;
      if (!findings) return refill(body, make("h2", null, t("Findings")), make("p", { class: "wait" }, desk.wrong ? `${desk.wrong.wrong} ${desk.wrong.remedy}` : t("The sheet must read before it can be checked.")));
      const held = document.activeElement?.closest?.(".finding")?.dataset.id;
      const groups = grades.map(([grade, means]) => [grade, means, findings.findings.filter((finding) => finding.grade === grade)]).filter(([, , list]) => list.length > 0);
      refill(body, make("h2", null, t("Findings")), make("p", { class: "verdict" }, findings.verdict),
        groups.map(([grade, means, list]) => make("section", null, make("h2", { class: "group" }, `${t(grade)} ${list.length} `, make("small", null, t(means))), list.map((finding) => card(desk, finding)))));
      const wanted = first ? detail : held;
      const to = wanted && body.querySelector(`[data-id="${CSS.escape(wanted)}"]`);
      if (to && first) { to.scrollIntoView({ block: "start" }); to.classList.add("called"); }
      if (to) to.focus({ preventScroll: true });
      first = false;
    };
    const drop = () => { proofs = new Map(); };
    ends = [desk.on("job", drop), desk.on("findings", draw)];
    place.append(body);
    draw();
  },
  leave() { ends.forEach((end) => end()); },
};
