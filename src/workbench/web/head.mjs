// The head of the page: whose job, whether anything stands against building, what to do next, and taking back.
import { openPairing } from "./pairing.mjs";
import { openKeys } from "./keys.mjs";
import { button, make, refill } from "./make.mjs";
import { t } from "./words.mjs";

const grades = ["danger", "fault", "unproven", "caution"];

/** The finding that is to be seen to first. */
export function firstFinding(findings) {
  return grades.map((grade) => findings?.findings.find((finding) => finding.grade === grade)).find(Boolean);
}

function nextStep(desk) {
  const { job, findings, wrong } = desk;
  const problem = job.problems[0];
  if (problem)
    return [t("Line {line} does not read: {what}", problem), problem.remedy,
      desk.views.some(({ name }) => name === "text") ? [t("Mend it"), () => desk.go("text", String(problem.line))] : null];
  if (!findings) return [wrong?.wrong ?? "", wrong?.remedy ?? "", null];
  const first = firstFinding(findings);
  if (!first || first.grade === "caution") return [t("Nothing stands against building."), t("Next: print the papers and carry them to the vehicle."), [t("Papers"), () => desk.go("papers")]];
  return ["", t("Next: {title}, {kind} {name}.", { title: first.title, kind: first.where?.kind ?? "", name: first.where?.name ?? "" }),
    [t("Show it"), () => desk.go("findings", first.id)]];
}

export function drawHead(head, desk) {
  const title = make("h1"), file = make("p", { class: "file" }), verdict = make("p", { class: "verdict" }), next = make("p", { class: "next" });
  const undo = button("", () => desk.takeBack("undo")), redo = button("", () => desk.takeBack("redo"));
  const acts = make("div", { class: "acts" }, undo, redo, button(t("Phone"), () => openPairing(desk), { "aria-haspopup": "dialog" }),
    button(t("Keys"), openKeys, { "aria-haspopup": "dialog", "aria-keyshortcuts": "?" }));
  head.append(make("div", { class: "whose" }, title, file), acts, make("div", { class: "stands" }, verdict, next));

  const draw = () => {
    const { job, findings } = desk;
    if (!job) return;
    refill(title, job.title || t("A job without a title"));
    refill(file, t("{file}, edition {edition}, saved", job));
    for (const [press, what, words, none] of [[undo, job.undo, t("Take back: {what}", { what: job.undo }), t("Nothing to take back")],
      [redo, job.redo, t("Do again: {what}", { what: job.redo }), t("Nothing to do again")]]) {
      refill(press, what === null ? none : words);
      press.disabled = what === null;
      press.hidden = what === null && press === redo;
    }
    const first = firstFinding(findings);
    verdict.className = `verdict ${job.problems.length > 0 ? "danger" : (first?.grade ?? "clear")}`;
    const [stands, step, press] = nextStep(desk);
    refill(verdict, stands || (findings?.verdict ?? ""));
    refill(next, step, press ? [" ", button(press[0], press[1])] : null);
  };
  for (const event of ["job", "findings", "live"]) desk.on(event, draw);
}
